"""Records of a seal-strength test laboratory, from the planned study to the released report."""
