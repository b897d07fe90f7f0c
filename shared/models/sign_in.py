from django.db import models


class SignInTryQuerySet(models.QuerySet):
    def since(self, moment):
        return self.filter(tried_at__gt=moment)


class SignInTry(models.Model):
    """A try to sign in, to get a new password or at a code, kept until it no longer counts.

    In the database, so that a restart opens no gate. ``account`` is a hash of what was
    typed, known or not; of a code, the link that it was typed for.
    """

    class Wanted(models.TextChoices):
        SIGN_IN = "sign-in"
        NEW_PASSWORD = "new password"
        CODE = "code"

    wanted = models.CharField(max_length=12, choices=Wanted)
    account = models.CharField(max_length=64)
    address = models.GenericIPAddressField()
    tried_at = models.DateTimeField()

    objects = SignInTryQuerySet.as_manager()

    class Meta:
        ordering = ["tried_at"]
        indexes = [
            models.Index(fields=["account", "tried_at"], name="try_of_account"),
            models.Index(fields=["address", "tried_at"], name="try_from_address"),
        ]

    def __str__(self):
        return f"{self.wanted} {self.tried_at:%Y-%m-%d %H:%M}"
