"""Headers that tell a browser what our pages may do: nothing but what is served from here."""

from __future__ import annotations

CONTENT_POLICY: dict[str, str] = {
    "default-src": "'none'",
    "object-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
}

SWITCHED_OFF = (
    "accelerometer",
    "bluetooth",
    "camera",
    "display-capture",
    "geolocation",
    "gyroscope",
    "hid",
    "magnetometer",
    "microphone",
    "midi",
    "payment",
    "serial",
    "usb",
)
"""What no page of ours may ask a browser for, by the names of the W3C Permissions Policy registry."""

PROTECTION: dict[str, str] = {
    "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in CONTENT_POLICY.items()),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": ", ".join(f"{name}=()" for name in SWITCHED_OFF),
}
"""Sent with every answer, errors included."""

STATIC = "/static/"
YEAR_SECONDS = 365 * 24 * 3600
STRICT_TRANSPORT = f"max-age={YEAR_SECONDS}; includeSubDomains"


def keeping(path: str) -> str:
    """`Cache-Control` of an answer that says nothing else: files of the app are asked for anew, pages never kept.

    It binds the browser's own cache. A service worker keeps what its own script says, until the phone leaves.
    """
    return "no-cache" if path.startswith(STATIC) else "no-store"


def transport(scheme: str, name: str, own_names: frozenset[str]) -> dict[str, str]:
    """`Strict-Transport-Security`, on the encrypted door only.

    Not under the laptop's own names: the rule holds for a name with all its ports, and the laptop's own door beside it
    speaks plain http. Under an address without a name browsers pass over it (RFC 6797, section 8.1.1).
    """
    if scheme != "https" or name in own_names:
        return {}
    return {"Strict-Transport-Security": STRICT_TRANSPORT}
