"""Review sessions: studies put before people, what they measure, and reports of them."""
