"""Marking things as fixed: one item, several at once, undo, and disputing an item."""

from dataclasses import dataclass, field, replace

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from portal.builder.access import opens, posted_to
from portal.builder.cards import ItemCard, card_of, cards_for, cards_of_state
from portal.builder.forms import ReasonForm, ReportFixedForm
from portal.builder.problems import link_problems, saying
from portal.photos.forms import handle_uploads
from portal.requests.ids import as_uuid
from readiness import clock
from readiness.actions.errors import Problem, Refused
from readiness.actions.fixing import fixes
from readiness.actions.reporting.carrying import later_of
from readiness.facts import SiteState
from readiness.models import DefectItem, Fix, Photo, Site
from readiness.rules.vocabulary import Effect
from readiness.rules.words import listed
from readiness.wording import states
from readiness.wording.builder.reasons import to_item
from readiness.wording.refusals import fixing as refusals

LEFT_OUT = "none"
"""Chosen for a photo of the whole page that shows nothing of use."""

form_page = require_http_methods(["GET", "HEAD", "POST"])


def fix_list_url(site: Site) -> str:
    return reverse("builder:site", args=[site.pk]) + "#fixes"


@form_page
@opens("item")
def report_fixed(request, item):
    """One item: what it was, and the photos that show it fixed."""
    site = item.report.site
    card = card_of(item, clock.now().astimezone(site.zone).date())
    form = ReportFixedForm(request.POST or None, asks_for_washing=card.asks_for_washing)
    photos, photo_errors, problems = [], [], []
    if request.method == "POST":
        photos, photo_errors = handle_uploads(request, site)
        if form.is_valid() and not photo_errors:
            problems = _say_one(request.user, item, form, photos)
            if not problems:
                messages.success(request, _sent([str(item.number)]))
                return redirect(fix_list_url(site))
    return render(
        request,
        "portal/builder/fixing/report_fixed.html",
        {
            "site": site,
            "card": card,
            "form": form,
            "closed": "" if request.method == "POST" or card.can_report_fixed else _closed(item),
            "later": later_of(item) if item.report.superseded_at else None,
            "photos": photos,
            "photo_errors": photo_errors,
            "problems": problems,
        },
    )


def _sent(numbers: list[str]) -> str:
    """That items were sent as fixed, and who acts next."""
    words = ngettext(
        "Sent. We will check item %(items)s.", "Sent. We will check items %(items)s.", len(numbers)
    )
    return words % {"items": listed(numbers)}


def _closed(item: DefectItem) -> str:
    """Why there is nothing to do about an item any more, for who comes by an old link."""
    if item.report.superseded_at:
        return _("A later report replaced this one.")
    if item.effect != Effect.HOLDS:
        return _("Nobody has to fix this item.")
    known = {"number": item.number, "state": states.in_a_sentence(item.state)}
    return _("Item %(number)s is already %(state)s.") % known


def _say_one(
    user, item: DefectItem, form: ReportFixedForm, photos: list[Photo], photo_field: str = "photos"
) -> list[Problem]:
    """Report one item fixed; what has to be done first comes back as sentences."""
    said = form.cleaned_data
    if not photos and not _sent_before(form, item):
        text = refusals.no_photo_of_fix(item.number)
        return [Problem(text, url=f"#id_{photo_field}", label=_("Add a photo"))]
    try:
        fixes.report_fixed(
            user,
            item,
            photos=photos,
            note=said["note"],
            washed_at=said.get("washed_at"),
            fix_id=said["fix_id"],
        )
    except Refused as refused:
        form.anew()
        return _refusals(item, refused)
    return []


def _refusals(item: DefectItem, refused: Refused) -> list[Problem]:
    """Why it was refused; where nothing else is to do, the item as it stands now is."""
    site = item.report.site
    as_it_stands = reverse("builder:site", args=[site.pk]) + to_item(item.pk)
    return [
        one if one.url else replace(one, url=as_it_stands, label=_("See the item as it is now"))
        for one in link_problems(site, refused)
    ]


def _sent_before(form: ReportFixedForm, item: DefectItem) -> bool:
    """Whether this very form came before: its photos are with the fix already."""
    fix_id = form.cleaned_data.get("fix_id") if form.is_valid() else None
    return Fix.objects.filter(pk=fix_id, item=item).exists()


@dataclass
class Entry:
    """One item of the page that marks several as fixed: its form and its photos."""

    card: ItemCard
    form: ReportFixedForm
    photos: list[Photo] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    sent_before: bool = False

    @property
    def photo_field(self) -> str:
        return f"photos-{self.card.item.pk}"

    def is_left(self, done: list[str]) -> bool:
        """Whether the page asks for it again: not gone through now, and still to do."""
        return str(self.card.item.number) not in done and self.card.is_to_do

    @property
    def all_errors(self) -> list[str]:
        """What is wrong with its photos and with what was typed."""
        typed = [str(error) for errors in self.form.errors.values() for error in errors]
        return [*self.errors, *typed]

    @property
    def is_used(self) -> bool:
        """Whether the person did anything with it."""
        names = (self.form.add_prefix(name) for name in ("note", "washed_at"))
        typed = any(self.form.data.get(name, "").strip() for name in names)
        return bool(self.photos or self.errors or typed or self.sent_before)


@form_page
@opens("site")
def report_fixed_many(request, site):
    """Several items at once: each with its own photos; what goes through is kept."""
    entries = _entries(request, site)
    if request.method != "POST":
        return _many(request, site, entries)
    to_do = entries
    entries = entries + _entries_gone(request, site, entries)
    loose = handle_uploads(request, site)
    for entry in entries:
        entry.photos, entry.errors = handle_uploads(request, site, entry.photo_field)
    _hand_out(request, loose.photos, entries)
    if "sort" in request.POST:
        return _many(request, site, to_do, loose)
    done, problems = _say_several(request.user, [entry for entry in entries if entry.is_used])
    if done:
        messages.success(request, _sent(done))
    if not done and not problems and not loose.photos and not loose.errors:
        text = _("Add a photo to each item that is fixed.")
        problems = [Problem(text, url="#id_photos", label=_("Add photos"))]
    problems += [_which_item(photo) for photo in loose.photos]
    if not problems and not loose.errors:
        return redirect(fix_list_url(site))
    left = [entry for entry in entries if entry.is_left(done)]
    return _many(request, site, left, loose, problems)


def _which_item(photo: Photo) -> Problem:
    text = _("%(file)s: choose the item that it shows.") % {"file": photo.filename}
    return Problem(text, url=f"#shows-{photo.pk}", label=_("Choose the item"))


def _entries(request, site: Site) -> list[Entry]:
    cards = cards_of_state(SiteState.of(site, with_levels=False))
    return [_entry(request, card) for card in cards if card.is_to_do]


def _entry(request, card: ItemCard) -> Entry:
    form = ReportFixedForm(
        request.POST or None, prefix=str(card.item.pk), asks_for_washing=card.asks_for_washing
    )
    return Entry(card, form)


def _entries_gone(request, site: Site, entries: list[Entry]) -> list[Entry]:
    """Items that were on the page when it was opened and are not to do any more.

    Somebody reported them fixed in the meantime, or this is the same form a second time: what was
    sent for them gets its answer too.
    """
    known = {str(entry.card.item.pk) for entry in entries}
    sent = {name.removesuffix("-fix_id") for name in request.POST if name.endswith("-fix_id")}
    gone = [found for text in sent - known if (found := as_uuid(text))]
    items = DefectItem.objects.visible_to(request.user).filter(report__site=site, pk__in=gone)
    items = items.select_related("report__site", "wall_run").order_by("number")
    today = clock.now().astimezone(site.zone).date()
    answered = [_entry(request, card) for card in cards_for(items, today)]
    for entry in answered:
        entry.sent_before = _sent_before(entry.form, entry.card.item)
    return answered


def _hand_out(request, loose: list[Photo], entries: list[Entry]) -> None:
    """Give each photo that came for the whole page to the item that was chosen for it."""
    wanted = {str(entry.card.item.pk): entry for entry in entries}
    for photo in list(loose):
        shows = request.POST.get(f"shows-{photo.pk}", "")
        entry = wanted.get(shows)
        if entry:
            entry.photos.append(photo)
        if entry or shows == LEFT_OUT:
            loose.remove(photo)


def _say_several(user, entries: list[Entry]) -> tuple[list[str], list[Problem]]:
    """The numbers of the items that went through, and what was wrong with the others."""
    done, problems = [], []
    for entry in entries:
        item = entry.card.item
        if entry.errors or not entry.form.is_valid():
            problems += [
                Problem(
                    _("Item %(number)s: %(what)s") % {"number": item.number, "what": words},
                    url=f"#item-{item.pk}",
                    label=_("Go to the item"),
                )
                for words in entry.all_errors
            ]
            continue
        found = _say_one(user, item, entry.form, entry.photos, entry.photo_field)
        problems += found
        if not found:
            done.append(str(item.number))
    return done, problems


def _many(request, site, entries, loose=None, problems=()):
    context = {"site": site, "entries": entries, "loose": loose, "problems": problems}
    return render(request, "portal/builder/fixing/report_fixed_many.html", context)


@posted_to("fix", "site")
def take_back(request, fix):
    """Undo a fix that nobody has reviewed."""
    with saying(request, _("Item %(number)s is to fix again.") % {"number": fix.item.number}):
        fixes.take_back_fix(request.user, fix)
    return redirect(fix_list_url(fix.item.report.site))


@form_page
@opens("item")
def disagree(request, item):
    """Dispute an item, with a reason; the applicator decides."""
    site = item.report.site
    form = ReasonForm(
        request.POST or None,
        label=_("Why do you dispute this item?"),
        help_text=_("We will decide and tell you. Until then we can't book."),
    )
    problems = []
    if form.is_valid():
        try:
            fixes.disagree(request.user, item, reason=form.cleaned_data["reason"])
        except Refused as refused:
            problems = _refusals(item, refused)
        else:
            messages.success(request, _sent_dispute(item))
            return redirect(fix_list_url(site))
    card = card_of(item, clock.now().astimezone(site.zone).date())
    closed = "" if request.method == "POST" or card.can_disagree else _no_more_to_say(item)
    later = later_of(item) if item.report.superseded_at else None
    context = {"site": site, "card": card, "form": form, "problems": problems}
    context |= {"closed": closed, "later": later}
    return render(request, "portal/builder/fixing/disagree.html", context)


def _sent_dispute(item: DefectItem) -> str:
    return _("Sent. We will check item %(number)s and answer.") % {"number": item.number}


def _no_more_to_say(item: DefectItem) -> str:
    if item.is_disputed and item.report.is_current:
        return refusals.disputed_already(item.number)
    return _closed(item)
