"""What makes a spot good, and what does it cost?"""
