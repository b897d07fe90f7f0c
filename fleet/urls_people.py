"""Beginning, people and the site itself."""

from django.urls import path

from fleet.views import first, people, site, surveyors
from shared.views import site_home

# the site's own address comes last: it takes any single word
urlpatterns = [
    path("first/", first.first_site, name="first-site"),
    path("<slug:site>/people/", people.People.as_view(), name="people"),
    path("<slug:site>/people/new/", people.person_create, name="person-create"),
    path("<slug:site>/people/<uuid:pk>/", people.person_role, name="person-role"),
    path("<slug:site>/people/<uuid:pk>/end/", people.role_end, name="role-end"),
    path("<slug:site>/people/<uuid:pk>/mail/", people.person_mail, name="person-mail"),
    path("<slug:site>/people/<uuid:pk>/link/", surveyors.link_make, name="surveyor-link-make"),
    path(
        "<slug:site>/people/<uuid:pk>/link/withdraw/",
        surveyors.link_withdraw,
        name="surveyor-link-withdraw",
    ),
    path("<slug:site>/surveyors/", surveyors.SurveyorList.as_view(), name="surveyor-list"),
    path("<slug:site>/surveyor/", surveyors.survey, name="survey"),
    path("<slug:site>/settings/", site.site_change, name="site-change"),
    path("<slug:site>/", site_home, name="site-home"),
]
