"""What if?"""
