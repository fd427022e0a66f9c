"""Room 5: word the note that someone sends along with a symptom's address."""

from build_tools.knowledge import markup
from build_tools.knowledge.entries import Symptom
from build_tools.site.page_press import Press, View
from build_tools.site.qr import qr_code


def send_view(press: Press, symptom: Symptom) -> View:
    """Return the note, the address and its picture.

    Address and picture are "" where the site does not know its own address; the browser
    then puts in the one it shows.
    """
    known = bool(press.site_url)
    address = f"{press.site_url}symptoms/{symptom.id}/" if known else ""
    when = "when to stop driving, " if symptom.stop_now else ""
    return {
        "note": (
            f"Does this sound like your car: {markup.lower_first(symptom.title)}? "
            f"This page says {when}what can be behind it, and which cheap checks "
            "come first. Please make those before you buy a part. It works on a phone and needs "
            "no account."
        ),
        "address": address,
        "qr": qr_code(address) if known else "",
    }
