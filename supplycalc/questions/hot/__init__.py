"""How long until it is hot?"""
