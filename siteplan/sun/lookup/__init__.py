"""How much of the sky does each point see, for whole maps at once?"""
