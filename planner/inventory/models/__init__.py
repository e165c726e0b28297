"""What an inventory file may hold, section by section; figures are in the unit their attribute names."""
