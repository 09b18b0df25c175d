"""What only a licensed technician decides."""

from readiness.actions import referrals
from readiness.models import Referral
from tests.actions.cases.base import MAIL, Case, Cast, case, of
from tests.factories import make_photo


def licensed(cast: Cast):
    """The office's technician, with a licence on record."""
    cast.applicator.licence_number = "T-2208"
    cast.applicator.save()
    return cast.applicator


def found(cast: Cast, **fields) -> Referral:
    return referrals.note_live_termites(cast.applicator, cast.site, **fields)


def barred(cast: Cast, **fields) -> Referral:
    return referrals.note_no_access(cast.applicator, cast.wall(), cause="boundary", **fields)


@case(referrals.note_live_termites, "termites_found", "photo_attached")
def _(cast):
    photo, wall = cast.photo(), cast.wall()
    return Case(
        lambda: found(cast, wall_run=wall, from_mm=2400, note="Mud tube", photos=[photo]),
        cast.applicator,
        lambda made: [
            {
                "referral": str(made.pk),
                "wall": str(wall.pk),
                "from_mm": 2400,
                "to_mm": None,
                "note": "Mud tube",
            },
            {**of(photo), "referral": str(made.pk)},
        ],
        [MAIL, MAIL],
    )


@case(referrals.note_no_access, "access_noted")
def _(cast):
    wall = cast.wall()
    return Case(
        lambda: barred(cast, from_mm=0, to_mm=4200, note="No gap"),
        cast.applicator,
        lambda made: [
            {
                "referral": str(made.pk),
                "wall": str(wall.pk),
                "from_mm": 0,
                "to_mm": 4200,
                "note": "No gap",
            }
        ],
    )


@case(referrals.show_referral, "photo_attached")
def _(cast):
    referral, photo = found(cast), cast.photo()
    return Case(
        lambda: referrals.show_referral(cast.applicator, referral, [photo]),
        cast.applicator,
        lambda _referral: [{**of(photo), "referral": str(referral.pk)}],
    )


@case(referrals.decide_referral, "termites_decided", "photo_attached")
def _(cast):
    licensed(cast)
    referral, photo = found(cast), make_photo(cast.site, cast.applicator)
    return Case(
        lambda: referrals.decide_referral(
            cast.applicator, referral, outcome="not_termites", reason="Ants", photos=[photo]
        ),
        cast.applicator,
        lambda made: [
            {
                "referral": str(referral.pk),
                "decision": str(made.pk),
                "outcome": "not_termites",
                "reason": "Ants",
            },
            {**of(photo), "referral_decision": str(made.pk)},
        ],
        [MAIL, MAIL],
    )


@case(referrals.decide_referral, "access_decided")
def _(cast):
    licensed(cast)
    referral = barred(cast)
    return Case(
        lambda: referrals.decide_referral(
            cast.applicator, referral, outcome="not_treated", reason="No gap"
        ),
        cast.applicator,
        lambda made: [
            {
                "referral": str(referral.pk),
                "decision": str(made.pk),
                "outcome": "not_treated",
                "reason": "No gap",
            }
        ],
    )
