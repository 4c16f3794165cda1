"""Drawing that desk, bench and sitting share: the header and footer, lamps and the sounder."""
