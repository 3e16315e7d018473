"""Which crops suit a bed?"""
