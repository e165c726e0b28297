"""The planning model: one integer programme, solved to a proven bound; `solve` is the one door to it."""
