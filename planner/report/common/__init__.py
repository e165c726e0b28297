"""What all pages share: figures and lines as they are written, what is assumed, what to be careful of."""
