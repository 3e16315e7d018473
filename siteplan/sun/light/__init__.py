"""How much light reaches a bed?"""
