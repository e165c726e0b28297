"""Sound, room, partitions, fans, heat, air, power and storage: plain floats in, plain floats out.

Nothing here knows about sites, boxes or plans. Levels are decibels, octave bands are tuples of eight
values (63 Hz to 8 kHz), temperatures degrees Celsius, powers watts, lengths metres, flows m3/s.
"""
