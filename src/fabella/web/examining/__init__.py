"""What the pages of an exam lead need besides the store: forms, timetables asked for, and words."""
