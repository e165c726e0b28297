"""What tests are made of: sites written by hand or drawn with every rule in play; work for a helper."""
