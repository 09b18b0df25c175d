"""Marking up a photo and measuring on it. Both screens keep their work if the connection drops."""

import uuid
from decimal import Decimal

from django.http import JsonResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_http_methods

from portal.photos.views import visible_photo
from portal.requests.access import applicator_required
from portal.requests.json_body import UnreadableBody, json_object
from readiness.actions.errors import Refused
from readiness.actions.photos.keeping import StaleMarkup, save_markup, save_measurement
from readiness.facts import report_values, rule_values, run_facts
from readiness.models import Business, Markup, Photo, WallRun
from readiness.photos import measurements, measuring, sizes
from readiness.photos.by_courses import Gauge
from readiness.photos.found_joints import NotNow
from readiness.photos.markup import MarkupError
from readiness.rules.band.geometry import RENDERED
from readiness.rules.defects.catalogue import AT_LEAST, INFORMATION
from readiness.wording import photos as say

BODY_LIMIT_BYTES = 200_000


def marks_of(photo: Photo) -> dict:
    """Shapes and version of a photo's markup, as the screen takes them."""
    markup = sizes.markup_of(photo) or Markup(photo=photo, version=0)
    return {"shapes": markup.shapes, "version": markup.version}


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def markup(request, photo_id):
    """The markup screen; a POST of ``{shapes, version}`` saves and answers with the new version.

    409 answers with what somebody else saved meanwhile.
    """
    photo = visible_photo(request.user, photo_id)
    if request.method != "POST":
        return render(
            request, "portal/photos/markup.html", {"photo": photo, "marks": marks_of(photo)}
        )
    try:
        data = json_object(request, BODY_LIMIT_BYTES)
        seen = data.get("version")
        kept = save_markup(
            request.user,
            photo,
            data.get("shapes"),
            seen_version=seen if isinstance(seen, int) else -1,
        )
    except (MarkupError, UnreadableBody) as error:
        return JsonResponse({"error": str(error)}, status=400)
    except StaleMarkup as stale:
        theirs = {"shapes": stale.markup.shapes, "version": stale.markup.version}
        return JsonResponse({"error": str(stale), **theirs}, status=409)
    return JsonResponse({"shapes": kept.shapes, "version": kept.version})


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def measure(request, photo_id):
    """The measuring screen; a POST works marks out, and with ``save`` keeps them.

    Answers with ``answer_of``, or 400 with ``error``; 503 where the photo can't be looked at now.
    """
    photo = visible_photo(request.user, photo_id)
    if request.method != "POST":
        return render(request, "portal/photos/measure.html", measure_context(photo))
    try:
        data = json_object(request, BODY_LIMIT_BYTES)
        open_too = Business.current().outlines_open_joints
        result = measurements.work_out(photo, data, rule_values(), open_too=open_too)
        answer = answer_of(photo, data, result)
        if data.get("save"):
            kept = save_measurement(
                request.user,
                photo,
                data,
                measurement_id=_id(data.get("id")),
                fill_item=bool(data.get("fill_item")),
                gauge_of=_wall(photo, data.get("gauge_of")),
            )
            answer["saved"] = str(kept.pk)
    except (measuring.CannotMeasure, UnreadableBody) as error:
        return JsonResponse({"error": str(error)}, status=400)
    except Refused as refused:
        return JsonResponse({"error": str(refused)}, status=400)
    except NotNow:
        return JsonResponse({"error": ""}, status=503, headers={"Retry-After": "5"})
    return JsonResponse(answer)


def _wall(photo: Photo, text) -> WallRun | None:
    """The wall that is to take the gauge; 404 for one of another site."""
    if not text:
        return None
    walls = WallRun.objects.filter(site=photo.site_id, removed_at=None)
    return get_object_or_404(walls, pk=_id(text))


def _id(text) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except (TypeError, ValueError, AttributeError):
        return None


def rule_of(photo: Photo):
    """The measurement of the photo's item, the value its rule needs (or None), both or None."""
    item = photo.item
    spec = item.kind_entry.measurement if item else None
    if spec is None or spec.unit != "mm":
        return None, None
    needed = report_values(item.report)[spec.rule_key] if spec.rule_key else None
    return spec, needed


def answer_of(photo: Photo, data: dict, result: measurements.Result) -> dict:
    """What the screen shows: numbers, sentences, whether it is good enough, and what was found.

    ``lines`` are bed joints as found, ``outlines`` joints that look open, as shares of the picture.
    """
    measured = result.measured
    answer = {
        "value_mm": measured.value_mm,
        "uncertainty_mm": measured.uncertainty_mm,
        "reference": result.reference,
        "sentence": f"{measured}.",
        "decides": True,
        "rests_on": "",
        "lines": result.lines,
        "outlines": result.outlines,
    }
    if result.gauge is not None:
        return answer | _gauge_in_words(data, result.gauge)
    spec, needed = rule_of(photo)
    if needed is not None and spec.comparison != INFORMATION:
        verdict = measuring.verdict(measured, int(needed), at_least=spec.comparison == AT_LEAST)
        answer |= {"sentence": verdict.sentence, "decides": verdict.decides}
    return answer


def _gauge_in_words(data: dict, gauge: Gauge) -> dict:
    sentence = say.gauge(
        gauge.course_mm, gauge.give_or_take_mm, gauge.courses, gauge.height.value_mm
    )
    if not gauge.good_enough:
        sentence = f"{sentence} {say.gauge_not_enough()}"
    known_mm = Decimal(str(data["known"]["length_mm"]))
    rests_on = say.gauge_rests_on(found=gauge.by_joints, length_mm=known_mm)
    return {"sentence": sentence, "decides": gauge.good_enough, "rests_on": rests_on}


def measure_context(photo: Photo) -> dict:
    run = measurements.wall_run_of(photo)
    spec, needed = rule_of(photo)
    can_fill = bool(spec and photo.item.report.is_draft)
    return {
        "photo": photo,
        "coursing": measurements.coursing_of(run, rule_values()),
        "spec": spec,
        "needed": needed,
        "can_fill": can_fill,
        "kept": photo.measurements.all(),
        "wall": run,
        "walls": [(wall, run_facts(wall)) for wall in _brick_walls(photo)],
        "marks": marks_of(photo),
        "most_courses": measurements.MOST_COURSES,
        "least_for_gauge": measurements.LEAST_FOR_GAUGE,
        "outlines": Business.current().outlines_open_joints,
    }


def _brick_walls(photo: Photo):
    """Walls of the site that a gauge can be taken for."""
    walls = WallRun.objects.filter(site=photo.site_id, removed_at=None).order_by("position")
    return walls.exclude(finish__in=RENDERED)
