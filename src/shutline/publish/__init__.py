"""What goes out: the report as a page and as a PDF, captions and chapters.

Takes a car file, the visits of the walk and the bytes of its stills; gives text and bytes, without writing them
anywhere. May not change the car file, may not let a struck finding or a private detail through, and may not say more
than the findings do.
"""
