"""How much water must it carry?"""
