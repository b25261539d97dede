"""The register's addresses; the inspections app adds its own."""

from django.urls import include, path

from fleet.views import decisions, deferrals, due, feeds, groups, outages, people, rules, tolerances

urlpatterns = [
    path("", people.home, name="home"),
    path("sign-in/", people.sign_in, name="sign_in"),
    path("sign-out/", people.sign_out, name="sign_out"),
    path("due/", due.due_list, name="due_list"),
    path("outages/", outages.outage_list, name="outage_list"),
    path("outages/new/", outages.outage_new, name="outage_new"),
    path("outages/<int:pk>/", outages.outage, name="outage"),
    path("outages/<int:pk>/edit/", outages.outage_edit, name="outage_edit"),
    path("rules/", rules.rules, name="rules"),
    path("rules/new/", rules.rule_new, name="rule_new"),
    path("rules/<path:code>/replace/", rules.rule_replace, name="rule_replace"),
    path("rules/<path:code>/", rules.rule, name="rule"),
    path("tolerances/", tolerances.tolerances, name="tolerances"),
    path("tolerances/new/", tolerances.tolerance_new, name="tolerance_new"),
    path("tolerances/<path:code>/replace/", tolerances.tolerance_replace, name="tolerance_replace"),
    path("tolerances/<path:code>/", tolerances.tolerance, name="tolerance"),
    path("sites/<int:pk>/as-left/", tolerances.site_as_left, name="site_as_left"),
    path("groups/", groups.groups, name="groups"),
    path("groups/<int:pk>/", groups.group, name="group"),
    path("due/deferrals/", deferrals.deferral_list, name="deferral_list"),
    path("due/deferrals/<int:pk>/answer/", deferrals.deferral_answer, name="deferral_answer"),
    path("obligations/<int:pk>/leave/", deferrals.deferral_ask, name="deferral_ask"),
    path("obligations/<int:pk>/interval/", decisions.interval_decide, name="interval_decide"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/role/", people.role_give, name="role_give"),
    path("people/roles/<int:pk>/take/", people.role_take, name="role_take"),
    path("people/<int:pk>/active/", people.person_active, name="person_active"),
    path("people/<int:pk>/password/", people.person_password, name="person_password"),
    path("calendars/", feeds.feeds, name="feeds"),
    path("calendars/new/", feeds.feed_new, name="feed_new"),
    path("calendars/<int:pk>/revoke/", feeds.feed_revoke, name="feed_revoke"),
    path("calendar/<slug:secret>.ics", feeds.calendar, name="calendar"),
    path("", include("inspections.urls")),
]
