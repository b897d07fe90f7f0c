from django.urls import path

from fleet.views import tags

urlpatterns = [
    path("<slug:site>/tags/", tags.TagList.as_view(), name="tag-list"),
    path("<slug:site>/tags/<uuid:pk>/", tags.tag_card, name="tag-card"),
    path("<slug:site>/tags/<uuid:pk>/hand-back/", tags.hand_back_tag, name="hand-back"),
    path("<slug:site>/carts/<uuid:pk>/tag/", tags.tag_create, name="tag-create"),
]
