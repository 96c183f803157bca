"""Looking for instruments, and trying out what a configuration says of them."""
