"""Help of the pages of jobs, vehicles and money."""

WORK: dict[str, tuple[str, str]] = {
    # Jobs
    "jobs:job_list": (
        "Which jobs are open, booked or closed here.",
        "Open one, or search a plate to begin the next.",
    ),
    "jobs:job_detail": (
        "What to do on each wheel, and why.",
        "Read the sensors, do what is advised, then close the job.",
    ),
    "jobs:job_card": (
        "This job on paper.",
        "Print it for the clipboard; what is written there goes into the job page.",
    ),
    "jobs:job_options": (
        "What the customer can choose, at their prices.",
        "Print or show it, and write down what they decide.",
    ),
    "jobs:job_relearn": (
        "How this vehicle learns its sensors.",
        "Go wheel by wheel in the order shown, then check the lamp.",
    ),
    "jobs:job_comeback": (
        "Why a vehicle came back.",
        "Choose the earlier job and the cause; the cost goes to that cause.",
    ),
    "jobs:vehicle_new": (
        "A vehicle you have not served before.",
        "Write plate or VIN, then open its job.",
    ),
    "jobs:vehicle_detail": (
        "What this vehicle carries, and what was done to it.",
        "Open a job, or mount its other wheels.",
    ),
    "jobs:vehicle_change": (
        "Plate, VIN, who brings it and whose account it is on.",
        "Correct what is wrong; what was done to the vehicle stays as it is.",
    ),
    "jobs:vehicle_mount": (
        "Which wheels stand on this vehicle.",
        "Choose the stored set and mount it; ages go along with each wheel.",
    ),
    "jobs:lifetime_list": (
        "How long bodies, stems and seals last here, and how sure that is.",
        "Open a family; below ten records of your own it is mostly assumption.",
    ),
    "jobs:lot_list": (
        "Which lots fail more often than they should.",
        "Open one that stands out before you fit more of it.",
    ),
    "jobs:lot_detail": (
        "Why this lot stands out.",
        "Look at its failures; claim them or send back what is left.",
    ),
    "jobs:advice_record": (
        "How often what was advised proved right.",
        "Read it before you trust or doubt a percentage.",
    ),
    # Money
    "jobs:money": (
        "What your jobs earned in these days, and where it leaks.",
        "Choose the days; open a group or a job that lost money.",
    ),
    "jobs:job_margin": (
        "What this job left, line by line.",
        "Open the line that cost most; a wrong price is corrected on the job.",
    ),
    "jobs:money_jobs": (
        "What each job of these days left.",
        "Follow a head to sort; open the job that left least.",
    ),
    "jobs:money_shelf": (
        "What each part on the shelf earns for the money in it.",
        "Keep what turns; look at what does not.",
    ),
    "jobs:money_comebacks": (
        "How many jobs came back, why, and what that cost.",
        "Group by part, person or cause; open what repeats.",
    ),
    "jobs:money_prices": (
        "What other markups would have earned on the same jobs, and what each part should sell at.",
        "Try bands of your own; then take the price of a part from the list.",
    ),
    "jobs:money_accounts": (
        "What each fleet account left, and which of its vehicles fail next.",
        "Open one to see its vehicles and jobs.",
    ),
    "jobs:money_moved": (
        "Which jobs stand behind one step of the bridge between two periods.",
        "Open the job that moved most.",
    ),
}
