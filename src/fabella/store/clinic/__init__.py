"""The clinic: patients, their visits, what was found at each, and the trail of who saw and wrote it."""
