"""Pages of purchasing: orders, deliveries, claims, suppliers, price lists."""
