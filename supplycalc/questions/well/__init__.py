"""Do pump and well hold it?"""
