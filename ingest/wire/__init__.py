"""What travels: the messages, their topics and their encoding. The only door for the page."""
