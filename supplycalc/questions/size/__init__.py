"""Does it work, in which sizes?"""
