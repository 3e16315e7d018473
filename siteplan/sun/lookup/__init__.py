"""How much of the year's sun does each point see, for whole maps at once?"""
