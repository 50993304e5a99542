"""Bring recordings and pictures in: look inside, keep the original, read its sound, choose stills.

Takes paths of files that somebody supplied. Gives records of `car`, sound as float32 arrays, stills as JPEG bytes, and
the problems it met. `probe.probe` looks inside, `originals.take_in` keeps the bytes under their SHA-256,
`sound.read_sound` and `sound.sound_blocks` read what can be heard, `stills.choose_stills` finds the frames worth
keeping. May not alter an original, understand a word, know a store, or open anything but the file it was given.
"""
