"""What does a person see of a case: surfaces, findings as places, the version before?"""
