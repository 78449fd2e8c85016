"""Quantiles, linear algebra and fits, once for the whole engine: ``algebra``, ``quantiles``, ``fits``."""
