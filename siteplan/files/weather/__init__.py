"""What does the sky of a typical year send?"""
