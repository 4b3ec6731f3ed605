"""Re-exports, so that a model can move between subjects without a migration."""
