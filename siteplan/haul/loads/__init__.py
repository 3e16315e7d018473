"""How many loads, how long, in what order?"""
