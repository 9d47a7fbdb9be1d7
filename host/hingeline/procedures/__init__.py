"""In which order is the job done?"""
