"""The headers that tell a browser what this page may do: nothing beyond the machine that serves it."""

from collections.abc import Mapping, Sequence


def response_headers(script_hashes: Sequence[str]) -> Mapping[str, str]:
    """Write the headers; `script_hashes` are those of the inline scripts that Dash needs.

    Styles may be inline, since Dash and the charts write style elements of their own; scripts may not.
    """
    policy = {
        "default-src": "'none'",
        "script-src": " ".join(["'self'", *script_hashes]),
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data:",
        "font-src": "'self'",
        "connect-src": "'self'",
        "manifest-src": "'self'",
        "worker-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
    }
    return {
        "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in policy.items()),
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    }
