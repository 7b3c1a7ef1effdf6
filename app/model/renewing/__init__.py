"""From one master to the next: what was found, decided and planned on the old one, carried over."""
