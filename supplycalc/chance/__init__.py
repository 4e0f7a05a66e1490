"""How often a fixture gets less than it needs while people live in the house."""
