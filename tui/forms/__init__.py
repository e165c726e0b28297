"""Forms: one field after the other, each checked as it is typed, with the reason beside it."""
