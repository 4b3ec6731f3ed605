"""Help of the pages of the shop itself, its people, its data and its catalogue."""

SITE: dict[str, tuple[str, str]] = {
    # The shop and its people
    "today": (
        "What waits for you at this site today, the most urgent first.",
        "Open a line to settle it; what you post stands at the end, with its undo.",
    ),
    "first_hour": (
        "What a new shop still needs before its first plan.",
        "Do the next step; each is ticked by your records, in any order.",
    ),
    "shop_settings": (
        "What every page, plan and margin of this shop reckons with.",
        "Change what differs in your shop and save; the log keeps what stood before.",
    ),
    "site_list": (
        "Which places have shelves of their own, and since when each writes down lost asks.",
        "Open a site for its bins; a van is a site too.",
    ),
    "site_new": (
        "A place with shelves, a clock and days of its own.",
        "Name it, choose its time zone, and add its bins next.",
    ),
    "site_change": (
        "What this site is called, its clock, and since when it writes down lost asks.",
        "Change and save; stock and history stay where they are.",
    ),
    "site_detail": (
        "Which bins this site has and how many parts lie in each.",
        "Add several at once, one a line; open a bin to rename or drop it.",
    ),
    "bin_detail": (
        "What lies in this bin.",
        "Rename it, or drop it when it is empty and the book never named it.",
    ),
    "person_list": (
        "Who may sign in, and as what.",
        "Invite somebody and give them the address that appears; it works once.",
    ),
    "person_detail": (
        "What this person may do, and what was changed about them.",
        "Change the role, stop the log-in, or make a new address for a lost password.",
    ),
    "change_list": (
        "Who changed which price, rule or person, from what to what.",
        "Pick a group above the list; nothing here can be altered.",
    ),
    "change_password": ("Your own password.", "Type the present one once and the new one twice."),
    "change_pin": (
        "A PIN lets you take over a shared device without your password.",
        "Choose one and type your password once.",
    ),
    "switch_person": (
        "Who works at this device now.",
        "Choose your name and type your PIN; what you post then carries your name.",
    ),
    "log_in": (
        "Who you are.",
        "Type your name and password; an owner makes a new address if lost.",
    ),
    "join": ("Your own log-in.", "Choose a password; this address works once."),
    "first_owner": (
        "Who owns this shop, and where its first site is.",
        "Make your account; you let the others in afterwards.",
    ),
    # Data
    "data": (
        "How records come in and go out: one workbook, a sheet a kind.",
        "Choose a file to have it checked; nothing is written before you say so.",
    ),
    "run_detail": (
        "How far a check, load, plan or backup is, and what it found.",
        "Correct what is listed and check again, or load the right rows only.",
    ),
    "backup_list": (
        "Which good copies of the shop there are, and how old.",
        "Make one now, and keep a copy on another machine.",
    ),
    # What fits
    "search": (
        "What a VIN, plate, sensor id, code or a few words name.",
        "Open a line; Enter in the box searches again.",
    ),
    "fit": (
        "Which parts fit a vehicle, and why others do not.",
        "Tap make, model and year, or type them in the search box.",
    ),
    "fit_answer": (
        "What fits this vehicle, whether it is here, and what was left out with its reason.",
        "Say what you see on the wheel if it differs; open a part for its shelf.",
    ),
    "fit_not_listed": (
        "What may fit a vehicle the catalogue does not list.",
        "Say what you see; a draft is made that the parts manager checks later.",
    ),
    "catalog_gaps": (
        "What is missing or doubtful in the catalogue.",
        "Settle line by line; whatever you change is in the log.",
    ),
    "application_new": (
        "A make, model and years that take the same sensors.",
        "Write what you know, leave the rest blank, and list its parts next.",
    ),
    "application_edit": (
        "What the catalogue says of this vehicle, which parts it lists, what jobs taught.",
        "Correct facts, list parts, or copy, split and merge the entry below.",
    ),
}
