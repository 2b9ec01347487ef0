"""What the evidence pages show of signs, lesions, rules, measures, images and sources."""
