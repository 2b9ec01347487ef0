"""What the pages of the exam day show: sheets as scripts read them, and the day as it is watched."""
