"""What do I buy?"""
