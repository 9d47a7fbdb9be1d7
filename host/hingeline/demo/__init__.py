"""What does the whole job look like, truth beside measurement?"""
