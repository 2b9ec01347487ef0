"""What the pages of practice are made of: a run in words, what can be done next, and the debrief."""
