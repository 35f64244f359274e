"""What follows from the two networks: what feeds what, through which protection, and what hangs on a fuse."""
