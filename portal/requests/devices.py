"""What a person would call the device that they signed in with."""

from django.utils.translation import gettext as _

BROWSERS = {
    "Edg": "Edge",
    "OPR": "Opera",
    "Firefox": "Firefox",
    "Chrom": "Chrome",
    "Safari": "Safari",
}
SYSTEMS = {
    "iPhone": "iPhone",
    "iPad": "iPad",
    "Android": "Android",
    "Windows": "Windows",
    "Mac OS": "Mac",
    "Linux": "Linux",
}


def device_name(user_agent):
    """What a person would call the browser that sent `user_agent`, such as "Chrome on Android"."""
    browser = next((name for mark, name in BROWSERS.items() if mark in user_agent), _("A browser"))
    system = next((name for mark, name in SYSTEMS.items() if mark in user_agent), "")
    return f"{browser} on {system}" if system else browser
