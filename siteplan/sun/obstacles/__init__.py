"""What stands on the property and can shade it?"""
