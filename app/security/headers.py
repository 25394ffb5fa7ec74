"""Headers that tell a browser what our pages may do: nothing but what is served from here."""

from __future__ import annotations

CONTENT_POLICY: dict[str, str] = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
}

PROTECTION: dict[str, str] = {
    "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in CONTENT_POLICY.items()),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
"""Sent with every answer, errors included."""
