"""Which way should a bed face, and would a step aside help?"""
