"""How does the fill get there?"""
