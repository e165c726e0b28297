"""From checked sections to the domain: written figures become figures, left-out ones become defaults."""
