"""Programs that print how long things take; they assert nothing."""
