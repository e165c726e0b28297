"""Solving beside the screen: in the background, in processes of their own; and what follows a plan."""
