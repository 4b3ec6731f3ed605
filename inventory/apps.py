from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self) -> None:
        # Registers the check that the append-only triggers are there.
        import inventory.ledger.triggers  # noqa: F401
