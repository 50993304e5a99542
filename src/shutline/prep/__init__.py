"""Preparation: what to put right, what it costs, what pays, and who does it when."""
