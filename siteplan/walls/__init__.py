"""What are the walls of the beds built of?

`framing` counts the boards, posts and braces of a frame. `cutting` finds how to cut them from stock lengths at the
least cost, with the patterns of `patterns`. `walls_plan` does this for all beds and adds prices. Strength is not
checked: that is for a builder and the local code to judge.
"""
