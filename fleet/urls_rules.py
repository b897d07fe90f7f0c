from django.urls import path

from fleet.views import rules

urlpatterns = [
    path("<slug:site>/rules/", rules.RuleBookPage.as_view(), name="rule-book"),
    path(
        "<slug:site>/rules/<int:version>/", rules.RuleBookPage.as_view(), name="rule-book-version"
    ),
    path("<slug:site>/rules/<int:version>/change/", rules.book_change, name="book-change"),
    path("<slug:site>/rules/<int:version>/take-up/", rules.book_take_up, name="book-take-up"),
    path(
        "<slug:site>/rules/<int:version>/<int:place>/change/",
        rules.rule_change,
        name="rule-change",
    ),
    path("<slug:site>/rules/<int:version>/<int:place>/drop/", rules.rule_drop, name="rule-drop"),
]
