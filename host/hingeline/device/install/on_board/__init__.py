"""What mpremote runs on a board while hingeline is installed."""
