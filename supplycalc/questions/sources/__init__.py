"""Where do the numbers come from?"""
