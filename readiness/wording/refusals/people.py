"""Why somebody can't be invited, let in, changed or removed, and why an e-mail to them is not sent.

The reasons of e-mails are kept with them; those of actions are not kept.
"""

from __future__ import annotations

from django.utils.translation import gettext as _

# Builders


def builder_without_name() -> str:
    return _("Enter the builder's name.")


def builder_known(name: str) -> str:
    return _("There is already a builder called “%(name)s”. Use that one, or another name.") % {
        "name": name
    }


# Invitations


def invitation_used_to_send_again() -> str:
    return _("This invitation is used. The person can sign in and needs no new link.")


def invitation_used_to_cancel() -> str:
    return _("This invitation is used. Switch the person off instead.")


def invitation_expired() -> str:
    return _("This invitation is used, cancelled or expired. Ask for a new one.")


def address_is_staff(email: str) -> str:
    return _("%(email)s belongs to the applicator's staff. Use another address.") % {"email": email}


def address_of_a_contact(email: str) -> str:
    """An address that signs in for a builder can't be staff; for which one is not said."""
    return _("%(email)s already signs in for a builder. Staff need another address.") % {
        "email": email
    }


def sign_in_to_accept(email: str) -> str:
    return _("%(email)s has an account already. Sign in with it, then open the link again.") % {
        "email": email
    }


def invitation_of_another() -> str:
    return _("This invitation is for another account.")


def address_known(email: str, builder: str) -> str:
    return _("%(email)s can already sign in for %(builder)s. Change their sites instead.") % {
        "email": email,
        "builder": builder,
    }


def site_of_another_builder(builder: str) -> str:
    return _("One of these sites does not belong to %(builder)s. Untick it.") % {"builder": builder}


# Switching people off, owners, removing details


def switching_yourself_off() -> str:
    return _("You can't switch yourself off. Ask another owner.")


def not_a_colleague() -> str:
    return _("This person does not work for your business.")


def owner_must_be_staff() -> str:
    return _("Only the applicator's staff can be owners.")


def last_owner() -> str:
    return _("There must be at least one owner. Make somebody else an owner first.")


def resetting_your_own() -> str:
    return _("Change your own second factor on your account page.")


def removing_yourself() -> str:
    return _("You can't remove your own details. Ask another owner.")


# Who may do what


def only_staff() -> str:
    return _("Only the applicator's staff can do this.")


def only_owner() -> str:
    return _("Only an owner of the business can do this.")


def only_builder() -> str:
    return _("Only this site's builder can do this.")


def only_reads() -> str:
    return _("You can read here. Ask us if you need to do more: we can change your rights.")


def only_administrator() -> str:
    return _("Only an administrator of this builder can do this.")


def vouching_for_yourself() -> str:
    return _("You can't vouch for yourself. Use a code that we e-mail to your address.")


def vouching_for_somebody_off() -> str:
    return _("This account is switched off.")


def not_your_site() -> str:
    return _("You have no access to this site.")


# Why an e-mail is not sent


def has_no_access(person: str) -> str:
    return _("%(person)s can't sign in any more, so no e-mail is sent.") % {"person": person}


def mail_invitation_cancelled() -> str:
    return _("the invitation was cancelled.")


def mail_invitation_used() -> str:
    return _("the invitation was used.")


def mail_details_removed() -> str:
    return _("the person's details were removed.")
