"""Figures: one description feeds the page (`plotly_figure.spec`) and the printed report (`svg.svg`)."""
