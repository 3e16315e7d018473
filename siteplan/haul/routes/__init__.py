"""Which way is quickest?"""
