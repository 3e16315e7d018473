"""Which of many properties suit, and what would a bed cost on each?"""
