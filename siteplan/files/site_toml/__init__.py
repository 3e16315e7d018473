"""What does site.toml say?"""
