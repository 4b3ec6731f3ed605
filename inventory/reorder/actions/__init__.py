"""Everything that writes the purchasing tables: orders, deliveries, claims, prices, the plan."""
