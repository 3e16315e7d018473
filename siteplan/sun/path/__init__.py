"""Where does the sun stand, and for how long in the year?"""
