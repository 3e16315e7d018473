"""Where should a bed go, and which way should it face?"""
