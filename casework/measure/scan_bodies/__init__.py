"""Where in a scan do the scan bodies stand, and how well is each pose known?"""
