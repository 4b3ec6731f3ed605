"""Help of the pages of parts, stock, plans and orders."""

PARTS: dict[str, tuple[str, str]] = {
    # Parts and stock
    "inventory:part_new": (
        "A part the shop can sell, with the codes it is known by.",
        "Fill in number and kind; the rest can follow. Then put stock on the shelf.",
    ),
    "inventory:part_change": (
        "What is known of this part.",
        "Correct and save; codes left out are no longer found by scan.",
    ),
    "inventory:part_fits": (
        "Which vehicles this part is listed on.",
        "Name a vehicle to list it; open a line to take it off or change its place.",
    ),
    "inventory:part_goal": (
        "What the shop decided for this part before any plan looked at it.",
        "Say how many are kept and why; the next plan counts with it.",
    ),
    "inventory:part_detail": (
        "What this part is, where it lies and what it fits.",
        "Open the shelf to issue, receive or count it.",
    ),
    "inventory:part_supersede": (
        "Which part is offered in place of this one.",
        "Name the new part; the old one's stock is used up first.",
    ),
    "inventory:shelf_list": (
        "What lies at this site, and what of it is free.",
        "Find a part to issue, receive or count it; the words below lead to scans and counts.",
    ),
    "inventory:part_shelf": (
        "How many are free here, in which bins, bought for what.",
        "Issue, receive or correct the count; each can be undone at once.",
    ),
    "inventory:part_return": (
        "A part that comes back unused.",
        "Choose what it was issued for; it returns at the cost it left with.",
    ),
    "inventory:part_scrap": (
        "A part that is thrown away.",
        "Say how many and why; it leaves the shelf at its cost.",
    ),
    "inventory:part_move": (
        "Where a part lies.",
        "Choose the lot and the bin or condition it goes to.",
    ),
    "inventory:part_send": (
        "A part for another site.",
        "Choose the site; it is on the road until somebody there receives it.",
    ),
    "inventory:part_hold": (
        "A part promised to a job.",
        "Name the job; what is held is not offered to others until it expires.",
    ),
    "inventory:part_take_apart": (
        "An assembly or kit as its pieces.",
        "Say how many; each piece goes on the shelf with its share of the cost.",
    ),
    "inventory:part_put_together": (
        "Pieces as one assembly or kit.",
        "Say how many; the pieces leave the shelf and their cost goes along.",
    ),
    "inventory:transfer_list": (
        "What is on the road between sites.",
        "Receive what arrived; send back or keep what was borrowed.",
    ),
    "inventory:hold_list": (
        "What is promised to which job, and until when.",
        "Call, issue or release; what is past its day stands first.",
    ),
    "inventory:count_list": (
        "Which counts are open, and what came of those before.",
        "Start one for some bins or one part; stock may move meanwhile.",
    ),
    "inventory:count_sheet": (
        "What was counted against what the book says.",
        "Enter or scan what you see, settle the differences, then close the count.",
    ),
    "inventory:scan_issue": (
        "Parts that leave the shelf, by scan.",
        "Scan a part; each scan is one piece, and the last can be undone.",
    ),
    "inventory:scan_receive": (
        "Parts that come in without an order, by scan.",
        "Scan or type a part's code, then say how many and what they cost.",
    ),
    "inventory:scan_move": (
        "Parts that go to another bin, by scan.",
        "Scan the bin, then the parts that go there.",
    ),
    "inventory:code_link": (
        "A code that nobody knows yet.",
        "Find the part it stands on and link it; from then on it is found by scan.",
    ),
    "inventory:label_print": (
        "Labels for parts and bins.",
        "Choose what to print and on which paper, then print from the browser.",
    ),
    "inventory:shelf_age": (
        "How long stock has lain, and what is past its shelf life.",
        "Use the oldest first; check, scrap or send back what is past.",
    ),
    # What to order
    "inventory:plan_detail": (
        "What to order today, from whom, how many, and why that many.",
        "Open a number for its why; draft the lines of a supplier with one button.",
    ),
    "inventory:plan_parts": (
        "What the plan says of every part, ordered or not.",
        "Find a part and open its why.",
    ),
    "inventory:plan_why": (
        "Why this part is kept at this number.",
        "Read the sentences, the picture and one more or one less; set a goal of its own below.",
    ),
    "inventory:plan_budget": (
        "What more or less money on the shelf would do for your jobs.",
        "Type a budget and read what it buys first.",
    ),
    "inventory:plan_jobs": (
        "In how many jobs everything is on the shelf, and which part they wait for.",
        "Open why of the first part and see what one more of it would cost.",
    ),
    "inventory:plan_assemblies": (
        "Whether an assembly is better kept whole, or as its body and stem.",
        "Open the figures; where pieces save money, use up the assembly and reorder its pieces.",
    ),
    "inventory:plan_surplus": (
        "What lies here that nobody will ask for soon, and what can go back.",
        "Send back, move or sell off, the oldest first.",
    ),
    "inventory:plan_seasons": (
        "When in the year each kind of part is asked for.",
        "Look ahead before the wheel change; the plan already reckons with it.",
    ),
    "inventory:plan_record": (
        "What this planner would have done with your own past, against what happened.",
        "Open the worst misses and see what caused them.",
    ),
    "inventory:plan_par": (
        "What a van should carry, and what it lacks.",
        "Fill it from the shop in one go, before it leaves.",
    ),
    "jobs:wave_list": (
        "Which parts many of your vehicles will need in the coming weeks.",
        "Open a wave to see the vehicles behind it.",
    ),
    "jobs:part_range": (
        "Which few parts serve most of the vehicles you see.",
        "Choose a share; see what could go and what money that frees.",
    ),
    "inventory:order_list": (
        "Which orders are open, late or past.",
        "Open one to receive it; “What to order” makes new ones.",
    ),
    "inventory:order_new": (
        "A part ordered by hand, whatever the plan says.",
        "Write part and pieces; it goes on the draft of this supplier.",
    ),
    "inventory:order_detail": (
        "What is ordered here, and what of it came.",
        "Change a draft, send it, or receive what arrived.",
    ),
    "inventory:order_receive": (
        "What of this order is in the box.",
        "Scan or type what came; short, extra or wrong parts are told apart.",
    ),
    "inventory:delivery_price": (
        "What a delivered line really cost.",
        "Write the price of the invoice; what was issued already is corrected too.",
    ),
    "inventory:special_list": (
        "What is on order for a job, and whether somebody was told.",
        "Call who waits when it arrives.",
    ),
    "inventory:supplier_list": (
        "From whom you buy, and on which terms.",
        "Open one for its offers, or add another.",
    ),
    "inventory:supplier_new": (
        "From whom parts can be bought.",
        "Write its order days and how long it says it takes; its prices come next.",
    ),
    "inventory:supplier_change": (
        "On which terms this supplier delivers.",
        "Change and save; the next plan reckons with it.",
    ),
    "inventory:supplier_detail": (
        "How long this supplier really takes, what it offers, what can go back.",
        "Bring in new prices, change terms, or send a lot back.",
    ),
    "inventory:offer_new": (
        "What a supplier asks for one part.",
        "Write pack and price; the plan orders only what somebody offers.",
    ),
    "inventory:price_list_new": (
        "A supplier's new prices as a file.",
        "Choose the file; you say what its columns mean before anything changes.",
    ),
    "inventory:price_list_match": (
        "What the columns of this price list mean.",
        "Choose a column for code and price, and the day it holds from.",
    ),
    "inventory:price_list_detail": (
        "What this price list would change, and by how much.",
        "Look at the largest rises, then accept.",
    ),
    "inventory:rise_list": (
        "What gets dearer soon, and what is worth buying before.",
        "Order before the rise where the saving beats the holding.",
    ),
    "inventory:claim_list": (
        "Failed parts still under warranty, and claims not settled.",
        "Send what waits; write down the answer when it comes.",
    ),
    "inventory:claim_new": (
        "A part that failed under warranty.",
        "Name part and supplier; the claim waits until you send it.",
    ),
    "inventory:claim_detail": (
        "Where this claim stands.",
        "Print or send it, then write down what the supplier answered.",
    ),
}
