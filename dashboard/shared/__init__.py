"""What the pages share: the smallest parts, dialogs, how a request came out; theme, fonts and icons."""
