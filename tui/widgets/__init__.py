"""Widgets: a table by key, lines to scroll, a line to type into, the tab bar, the line of the plan."""
