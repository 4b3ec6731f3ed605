"""What a person fills in at the shelf; each form is posted once by its own key."""

from inventory.ledger.forms.posting import (
    ArrivedForm,
    CalledForm,
    CollectForm,
    HoldForm,
    MoveForm,
    PutTogetherForm,
    ReturnForm,
    ScrapForm,
    SendForm,
    TakeApartForm,
)
from inventory.ledger.forms.shelf import CountForm, IssueForm, ReceiveForm, ShelfForm

__all__ = [
    "ArrivedForm",
    "CalledForm",
    "CollectForm",
    "CountForm",
    "HoldForm",
    "IssueForm",
    "MoveForm",
    "PutTogetherForm",
    "ReceiveForm",
    "ReturnForm",
    "ScrapForm",
    "SendForm",
    "ShelfForm",
    "TakeApartForm",
]
