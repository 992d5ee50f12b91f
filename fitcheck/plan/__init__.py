"""Planning: from what clashes to the work that mends it, in order and at a price."""
