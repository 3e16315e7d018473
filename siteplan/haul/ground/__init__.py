"""What does the ground cost whoever pushes a barrow?"""
