"""Who asks, and whether by https, when a proxy stands in front of the tool."""

import ipaddress

from django.conf import settings

from deploy.reading import BY_SOCKET

SAID = ("HTTP_X_FORWARDED_FOR", "HTTP_X_FORWARDED_PROTO")


class ProxiesMiddleware:
    """Take a believed proxy's word for who asks; drop anybody else's."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        meta = request.META
        if is_believed(meta["REMOTE_ADDR"]):
            meta["REMOTE_ADDR"] = asking(meta["REMOTE_ADDR"], meta.get(SAID[0], ""))
        else:
            for name in SAID:
                meta.pop(name, None)
        return self.get_response(request)


def is_believed(address: str) -> bool:
    """Say whether this address is one of FLEET_PROXIES."""
    if not address:
        return BY_SOCKET in settings.PROXIES
    known = [one for one in settings.PROXIES if one != BY_SOCKET]
    return any(ipaddress.ip_address(address) in one for one in known)


def asking(proxy: str, said: str) -> str:
    """Return the last address on the way here that is no believed proxy.

    Each proxy adds at the right whom it heard; what stands left of a stranger is
    the stranger's own word, and words that are no address end the search.
    """
    nearest = proxy
    for word in reversed(said.split(",")):
        try:
            nearest = str(ipaddress.ip_address(word.strip()))
        except ValueError:
            break
        if not is_believed(nearest):
            break
    return nearest
