"""Everything a job can do to its records; each action is one transaction of its own."""
