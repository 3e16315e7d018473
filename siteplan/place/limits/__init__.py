"""Where must no bed go?"""
