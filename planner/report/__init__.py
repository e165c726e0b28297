"""What a person gets to read: each face builds plain data first, then renders it.

Nothing here prints, and nothing here knows a solver.

Why so: there is no clock in the output. The same file and seed give the same bytes on stdout; seconds go to
stderr.

Why so: levels are shown as whole dBA, differences with one decimal, for differences are foretold better
than levels. A level is marked as assumed when it leans on assumed sources by 0.5 dB or more, or on assumed
surfaces.

Why so: escape codes are put in last, round text that has been cleaned (`common.text`), so that no face can
forget to clean.

Why so: JSON Schemas are made from the pages' dataclasses (`schemas`), so that they cannot go stale; tests
hold real output against them.
"""
