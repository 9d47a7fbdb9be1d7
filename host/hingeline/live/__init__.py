"""How is the moment shown and heard: screen, page, tones, plain lines?"""
