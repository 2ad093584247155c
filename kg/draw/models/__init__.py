"""Parametric models, each a function that draws on a sheet; ``kg.draw.models.registry`` finds them by name."""
