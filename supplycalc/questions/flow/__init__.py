"""What if the washer fills?"""
