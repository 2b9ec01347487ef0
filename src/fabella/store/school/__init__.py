"""The school: practice sessions; it knows no patient."""
