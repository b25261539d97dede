"""By what the settings review judges: its budget of false flags, the fleet's own scatter and rates,
and what each site calls repeated."""

from dataclasses import dataclass

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, permissions
from fleet.actions.reviewing import review_by
from fleet.faults import Refused
from fleet.models import Site
from fleet.views.guard import needs, require
from inspections.calc.screening import SHARES
from inspections.forms.reviewing import ReviewForm
from inspections.kept.catching_up import catch_up_if_few
from inspections.models import Screening


@dataclass(frozen=True)
class Family:
    """The scatter that series of one setting lend each other; `df` None is infinite."""

    name: str
    df: float | None
    variance: float


@dataclass(frozen=True)
class Rate:
    """How often a setting is reset beyond its resolution, in the whole fleet."""

    setting: str
    k: int
    n: int

    @property
    def rate(self) -> float:
        return self.k / self.n if self.n else 0.0


@needs(permissions.READ)
@require_safe
def review_judged(request):
    """What the flags stand on, and who may change it."""
    return _page(request)


def _page(request, wrong: ReviewForm | None = None):
    stands = catch_up_if_few(at=clock.now())
    kept: Screening = stands.screening
    sites = Site.objects.visible_to(request.user).order_by("name")
    forms = [ReviewForm(None, site=site) for site in sites]
    context = {
        "kept": kept,
        "shares": [(code, share, float(kept.budget) * share) for code, share in SHARES.items()],
        "families": [
            Family(name, df, v) for name, (df, v, _) in sorted(kept.priors.items()) if name
        ],
        "rates": [Rate(name, k, n) for name, (k, n) in sorted(kept.rates.items()) if n],
        "forms": [wrong if wrong and wrong.site == form.site else form for form in forms],
        "may_set": {
            form.site.pk
            for form in forms
            if request.user.may(permissions.MANAGE_RULES, form.site.pk)
        },
    }
    status = 422 if wrong else 200
    return render(request, "inspections/review_judged.html", context, status=status)


@needs(permissions.MANAGE_RULES)
@require_POST
def site_review(request, pk):
    """What one site calls repeated."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    require(request.user, permissions.MANAGE_RULES, site.pk)
    form = ReviewForm(request.POST, site=site)
    if not form.is_valid():
        return _page(request, form)
    try:
        review_by(site, **form.cleaned_data, by=request.user, at=clock.now())
    except Refused as refused:
        form.show(refused.faults)
        return _page(request, form)
    messages.success(request, f"{site} is reviewed by these numbers from now on.")
    return redirect("review_judged")
