"""What every page must be, at every size: no sideways scrolling, large targets, nothing that axe finds fault with."""

from axe_playwright_python.sync_playwright import Axe

LEAST_TARGET_PX = 44

_SMALL_TARGETS = """least => [...document.querySelectorAll(
    'main a.button, main button, main input, main select, main textarea, main summary')]
  .filter(one => one.type !== 'hidden' && one.checkVisibility())
  .map(one => [one, (one.closest('label') ?? one).getBoundingClientRect(), one.getBoundingClientRect()])
  .filter(([one, around, own]) => Math.max(around.height, own.height) < least - 0.5)
  .map(([one, around]) => `${one.outerHTML.slice(0, 90)} is ${Math.round(around.height)} px high`)"""


def faults_of(page):
    """Sentences; empty for a page that is as it should be."""
    found = []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    if wide > 0:
        found.append(f"scrolls sideways by {wide} px")
    found += page.evaluate(_SMALL_TARGETS, LEAST_TARGET_PX)
    for violation in Axe().run(page).response["violations"]:
        places = ", ".join(str(node["target"]) for node in violation["nodes"][:3])
        found.append(f"{violation['id']}: {violation['help']} at {places}")
    return found
