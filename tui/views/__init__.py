"""What each place shows, as plain data: no widgets here, so that it can be compared with the commands."""
