"""A page's address as it may be written down: in the security log, and in e-mails about errors."""

from __future__ import annotations

SECRET_PARTS = {"token", "key", "uidb36"}
LONGEST = 200


def told_path(request) -> str:
    """Without its query; where a part of it lets people in, its pattern. "" where nobody knows."""
    match = getattr(request, "resolver_match", None)
    if match is None:
        return ""
    if SECRET_PARTS & set(match.kwargs):
        return f"/{match.route}"
    return request.path[:LONGEST]
