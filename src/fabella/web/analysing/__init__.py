"""Exams analysed and decided for the pages: what is handed to another process, and what comes back."""
