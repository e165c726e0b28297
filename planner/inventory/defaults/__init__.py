"""Usual figures for what a file leaves out: classes of equipment, measures, roles."""
