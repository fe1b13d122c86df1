"""How do measured values and their places become pictures?"""
