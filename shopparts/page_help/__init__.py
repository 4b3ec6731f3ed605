"""What each page answers and what is done on it: two lines a page, by the name of its address.

Shown under the question mark of the shell. A page without its lines fails a test.
"""

from shopparts.page_help.parts import PARTS
from shopparts.page_help.site import SITE
from shopparts.page_help.work import WORK

Lines = tuple[str, str]

PAGES: dict[str, Lines] = SITE | PARTS | WORK
