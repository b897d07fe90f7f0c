"""What a person has of their own: reminders as they want them, and a calendar."""

from django.urls import path

from fleet.views import calendar, reminders

urlpatterns = [
    path("account/reminders/", reminders.reminders, name="reminders"),
    path("account/calendar/", calendar.calendar, name="calendar"),
    path("account/calendar/make/", calendar.calendar_make, name="calendar-make"),
    path("account/calendar/withdraw/", calendar.calendar_withdraw, name="calendar-withdraw"),
    path("calendar/<str:token>.ics", calendar.calendar_feed, name="calendar-feed"),
]
