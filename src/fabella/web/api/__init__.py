"""What scripts on the pages ask for and send, as JSON."""
