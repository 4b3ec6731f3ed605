"""What a person fills in on the pages of purchasing."""
