from fleet import (
    urls_account,
    urls_board,
    urls_bundles,
    urls_imports,
    urls_mails,
    urls_past,
    urls_people,
    urls_rounds,
    urls_rules,
    urls_sample,
    urls_seal,
    urls_service,
    urls_tags,
)

# those of a site take any single word first
urlpatterns = [
    *urls_service.urlpatterns,
    *urls_account.urlpatterns,
    *urls_people.urlpatterns,
    *urls_board.urlpatterns,
    *urls_past.urlpatterns,
    *urls_rounds.urlpatterns,
    *urls_tags.urlpatterns,
    *urls_rules.urlpatterns,
    *urls_imports.urlpatterns,
    *urls_bundles.urlpatterns,
    *urls_mails.urlpatterns,
    *urls_sample.urlpatterns,
    *urls_seal.urlpatterns,
]
