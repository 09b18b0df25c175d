"""Each paper as it would look with what is typed in the business's settings: shown, not stored."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods

from portal.office.business.forms import BusinessForm
from portal.papers.serving import PDF, protected
from portal.requests.access import applicator_required
from readiness.models import Business, Paper


@applicator_required
@require_http_methods(["GET", "HEAD", "POST"])
def preview(request, kind):
    """A sample paper: with the settings as an owner types them, else with those that are saved."""
    if kind not in Paper.Kind.values:
        raise Http404
    business = Business.current()
    # Others than owners have the form disabled, and a browser sends no disabled field.
    if request.method == "POST" and request.user.is_owner:
        form = BusinessForm(request.POST, instance=business)
        if not form.is_valid():
            context = {"form": form, "kind": Paper.Kind(kind).label}
            return render(
                request, "portal/office/business/preview_refused.html", context, status=400
            )
        business = form.instance
    from readiness.papers.render import render_sample  # 40 MB that a site mostly does without

    made = render_sample(kind, business)
    response = HttpResponse(made.content, content_type=PDF)
    name = f"sample-{kind.replace('_', '-')}.pdf"
    response["Content-Disposition"] = content_disposition_header(False, name)
    return protected(response)
