"""What does a survey from the air say of the ground around a property?"""
