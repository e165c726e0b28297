"""The plan page: its data, how it is built, and its faces.

Why so: 'saved by consolidation' is the plan's machines with today's cooling and no measure. What comes on
top is measures and cooling. That split depends on the order, so the order is stated on the page.
"""
