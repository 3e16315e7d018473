"""Which spots fit a new bed, and which are the best?"""
