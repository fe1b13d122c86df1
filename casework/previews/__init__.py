"""Which smaller mesh stands for a file where it is looked at, not where it is measured?"""
