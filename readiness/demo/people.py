"""The invented firms and people of the demo. None of them exists; mail to .example goes nowhere."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.actions.people import inviting
from readiness.models import Builder, Business, User


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
    _set_up_business()
    owner = User.objects.create_user(
        "ines@brindleandfinch.example",
        name="Ines Brindle",
        phone="0491 570 006",
        role=User.Role.APPLICATOR,
        is_owner=True,
        licence_number="DEMO-TM-1042",
    )
    technician = _accepted(
        inviting.invite_staff(owner, "jory@brindleandfinch.example"),
        name="Jory Finch",
        phone="0491 570 156",
        licence_number="DEMO-TM-2210",
    )
    kettlestone = Builder.objects.create(
        name="Kettlestone Homes (demo)",
        phone="02 5550 0140",
        notes="Pays on time. Ring Mara before seven.",
    )
    lantern = Builder.objects.create(name="Paper Lantern Constructions (demo)")
    plover = Builder.objects.create(name="Plover & Daughters (demo)")
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


def _set_up_business() -> None:
    business = Business.current()
    business.name = "Brindle & Finch Termite Management (demo)"
    business.licence_number = "DEMO-TM-1042"
    business.address = "Shed 4, 12 Example Lane\nMirrin Vale NSW 2999"
    business.phone = "02 5550 0101"
    business.email = "office@brindleandfinch.example"
    business.letterhead_note = "An invented firm: everything on this paper is a demonstration."
    business.product_name = "Demonstration termite treatment"
    business.rule_overrides = {"labour_cents_per_hour": 9_600}
    business.guide_note = "Ring us a day ahead if the gate code changes."
    business.save()


def _contact(owner, builder, email, name, position="Site supervisor") -> User:
    invited = inviting.invite_contact(owner, builder, email)
    return _accepted(invited, name=name, phone="0491 570 157", position=position)


def _accepted(invited: inviting.Invited, **details) -> User:
    return inviting.accept_invitation(invited.token, **details)
