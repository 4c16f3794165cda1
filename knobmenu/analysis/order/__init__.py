"""Better orders of a menu's entries, under a use profile and the designer's constraints."""
