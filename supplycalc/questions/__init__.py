"""One folder per question: its study, what it shows, its command."""
