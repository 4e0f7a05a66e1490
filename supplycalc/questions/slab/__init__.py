"""What can't be changed later?"""
