"""From sound to words with times, and from transcript files to the same.

Takes 16 kHz mono sound, whole or in blocks, or the bytes of a transcript file; gives stretches of timed words and the
problems met on the way. `transcripts.parse_transcript` reads a file; `recognise.recognise` listens, with
`bundled.bundled` or `accurate.accurate` as its ear. May not open a recording, know about cars or parts, or keep
anything: what was heard is handed to the caller piece by piece, and pieces heard before can be handed back.
"""
