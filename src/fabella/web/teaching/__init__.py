"""The teacher's bench: patients built and previewed, their difficulty, and what classes miss in words."""
