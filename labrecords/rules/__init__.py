"""The laboratory's rules: short pure functions over plain facts. No Django, no tables, no clock of their own."""
