"""What does the features file say?"""
