"""Pressure-driven delivery: what really comes out when given outlets are open."""
