"""The one way to write data as bytes that a digest covers. Standard library only."""

import json
from typing import Any

_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def canonical(data: Any) -> bytes:
    """JSON with sorted keys, no spaces, UTF-8."""
    return _ENCODER.encode(data).encode()
