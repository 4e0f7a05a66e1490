"""A day, or a year of days, in the life of a supply, event by event."""
