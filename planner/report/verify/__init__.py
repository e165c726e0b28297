"""What the judge says, as a page."""
