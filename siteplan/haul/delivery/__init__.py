"""Where is a delivery tipped?"""
