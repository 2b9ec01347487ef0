"""What the pages of an exam lead need besides the store: forms read, timetables asked for, things put into words."""
