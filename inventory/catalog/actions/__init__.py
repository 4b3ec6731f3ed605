"""Changes to the catalogue, one module a subject; every change of a record goes to the log."""
