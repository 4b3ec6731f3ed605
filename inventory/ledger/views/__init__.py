"""The pages of the stock: shelves, postings, transfers, counts, the scanner, promises, labels."""
