"""Where do samples come from: ports, boards, their firmware?"""
