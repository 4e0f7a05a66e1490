"""Is my file right?"""
