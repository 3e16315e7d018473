"""What are the walls of the beds built of?

`framing` counts a frame's boards, posts and braces; `cutting` saws them from stock lengths with the least waste;
`walls_plan` puts all beds together and prices them. Strength is left out: it is a builder's and the local code's.
"""
