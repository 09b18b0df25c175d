"""What goes along with an export for the other side, and what stays here.

A column that stays is taken out of its rows. Its leaf stands in its place, so that the row still
gives the digest that the Record holds, and its key is not handed out, so that nobody can try values
out against the leaf.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields

ADDRESSES = {
    "users": ("email", "phone"),
    "confirmations": ("account_address",),
    "builder": ("phone",),
    "messages": ("error",),  # mail servers name addresses
}
POSITIONS = {
    "site": ("latitude", "longitude"),
    "photos": ("latitude", "longitude"),
    "originals": ("metadata",),
}
ACCESS = {"site": ("access_notes",)}


@dataclass(frozen=True)
class Along:
    """Each is a choice. Original files hold the positions that cameras wrote into them."""

    positions: bool = False
    originals: bool = False
    access: bool = False
    addresses: bool = False

    @classmethod
    def of(cls, names: Iterable[str]) -> "Along":
        """By the names of what was chosen. With originals go the positions in them."""
        chosen = dict.fromkeys(names, True)
        return cls(**chosen | ({"positions": True} if "originals" in chosen else {}))

    @property
    def is_whole(self) -> bool:
        return all(getattr(self, one.name) for one in fields(self))

    def stays(self) -> dict[str, tuple[str, ...]]:
        """The columns that stay here, by file."""
        stay: dict[str, tuple[str, ...]] = {}
        for goes, columns in (
            (self.positions, POSITIONS), (self.access, ACCESS), (self.addresses, ADDRESSES),
        ):  # fmt: skip
            for name, more in () if goes else columns.items():
                stay[name] = stay.get(name, ()) + more
        return stay

    def left_out(self) -> list[str]:
        """All that stays, as the manifest lists it; "originals/" for the files."""
        listed = [f"{name}.{one}" for name, columns in self.stays().items() for one in columns]
        if not self.positions:
            listed.append("photos.file")  # made from the metadata too
        if not self.originals:
            listed.append("originals/")
        return sorted(listed)


WHOLE = Along(positions=True, originals=True, access=True, addresses=True)
"""For the own archive: only this one can be brought into another installation."""
