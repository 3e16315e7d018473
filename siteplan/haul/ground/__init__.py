"""How long does a metre of ground take with a barrow, and where is there no way?"""
