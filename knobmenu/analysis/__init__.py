"""What trying cannot answer: whether anything is wrong anywhere, and what each thing costs."""
