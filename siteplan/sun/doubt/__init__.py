"""How sure are the hours of sun, and what should be measured?"""
