"""What all places are made of: texts, buttons, fields, colours."""
