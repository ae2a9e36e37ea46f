"""What a page may load and run (Content-Security-Policy): only what this installation serves.

No script and no style stands in a page, so what somebody smuggles into a record cannot run.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data: blob:",  # patterns in style sheets; pictures that scripts draw
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)


def content_security_policy(
    answer: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: every answer has the policy, but for PDFs: browsers show those themselves."""

    def answered(request: HttpRequest) -> HttpResponse:
        response = answer(request)
        if response.headers.get("Content-Type") != "application/pdf":
            response.headers.setdefault("Content-Security-Policy", POLICY)
        return response

    return answered
