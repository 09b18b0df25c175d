"""The invented firms and people of the demo. None of them exists; mail to .example goes nowhere."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from readiness.actions.firm.business import change_business
from readiness.actions.firm.days_off import keep_day_off
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.people import builders, inviting, profile, rights
from readiness.messages.invitation_links import new_link
from readiness.models import Builder, Invitation, User
from readiness.rules.days_off import DayOff, Repeats


@dataclass
class People:
    """The people and firms. `kettlestone` and `lantern` are building companies."""

    owner: User
    technician: User
    supervisor: User
    office: User
    limited: User
    rival: User
    plover_contact: User
    kettlestone: Builder
    lantern: Builder
    plover: Builder


def make_people() -> People:
    """Make the firm, its people, three builders and their contacts; invited like anyone else."""
    owner = profile.add_owner("ines@brindleandfinch.example", "Ines Brindle")
    profile.change_profile(owner, phone="0491 570 006")
    rights.set_licence(owner, owner, "DEMO-TM-1042")
    _set_up_business(owner)
    technician = _accepted(
        inviting.invite_staff(owner, "jory@brindleandfinch.example"),
        name="Jory Finch",
        phone="0491 570 156",
    )
    rights.set_licence(owner, technician, "DEMO-TM-2210")
    kettlestone = builders.add_builder(
        owner,
        name="Kettlestone Homes (demo)",
        phone="02 5550 0140",
        notes="Pays on time. Ring Mara before seven.",
    )
    lantern = builders.add_builder(owner, name="Paper Lantern Constructions (demo)")
    plover = builders.add_builder(owner, name="Plover & Daughters (demo)")
    return People(
        owner=owner,
        technician=technician,
        supervisor=_contact(owner, kettlestone, "mara@kettlestone.example", "Mara Tindale"),
        office=_contact(
            owner, kettlestone, "office@kettlestone.example", "Bo Achterberg", "Office manager"
        ),
        limited=_contact(
            owner, kettlestone, "cass@kettlestone.example", "Cass Oduya", "Trainee supervisor"
        ),
        rival=_contact(owner, lantern, "sol@paperlantern.example", "Sol Wray"),
        plover_contact=_contact(owner, plover, "bex@plover.example", "Bex Amundi"),
        kettlestone=kettlestone,
        lantern=lantern,
        plover=plover,
    )


SHOW_DAY = DayOff(
    "Brisbane show day",
    Repeats.WEEKDAY,
    nth=2,
    weekday=2,
    month=8,
    postcodes=(("4000", "4179"),),
)
"""Second Wednesday of August, where none of the demo's sites is."""


def _set_up_business(owner: User) -> None:
    change_business(
        owner,
        name="Brindle & Finch Termite Management (demo)",
        licence_number="DEMO-TM-1042",
        address="Shed 4, 12 Example Lane\nMirrin Vale NSW 2999",
        phone="02 5550 0101",
        email="office@brindleandfinch.example",
        letterhead_note="An invented firm: everything on this paper is a demonstration.",
        product_name="Demonstration termite treatment",
        guide_note="Ring us a day ahead if the gate code changes.",
    )
    change_rule_values(owner, {"labour_cents_per_hour": "9600"})
    keep_day_off(owner, SHOW_DAY, day_off_id=uuid4())


def _contact(owner, builder, email, name, position="Site supervisor") -> User:
    invitation = inviting.invite_contact(owner, builder, email)
    return _accepted(invitation, name=name, phone="0491 570 157", position=position)


def _accepted(invitation: Invitation, **details) -> User:
    """As with the link of the e-mail: what is sent here goes nowhere."""
    return inviting.accept_invitation(new_link(invitation).token, **details)
