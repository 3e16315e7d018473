"""How high is the ground?"""
