"""Links: they move bytes and stamp their arrival, and know no meaning."""
