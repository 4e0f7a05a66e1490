"""How is the file written?"""
