"""Sheet 1, the wiring diagram: the whole system, both poles, in columns between two bars."""
