"""TLS for tablets on a ward's network: an authority of this installation, and what it certifies."""
