"""Why this spot?"""
