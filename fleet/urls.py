from fleet import (
    urls_board,
    urls_bundles,
    urls_imports,
    urls_past,
    urls_people,
    urls_rounds,
    urls_rules,
    urls_sample,
    urls_seal,
    urls_tags,
)

urlpatterns = [
    *urls_people.urlpatterns,
    *urls_board.urlpatterns,
    *urls_past.urlpatterns,
    *urls_rounds.urlpatterns,
    *urls_tags.urlpatterns,
    *urls_rules.urlpatterns,
    *urls_imports.urlpatterns,
    *urls_bundles.urlpatterns,
    *urls_sample.urlpatterns,
    *urls_seal.urlpatterns,
]
