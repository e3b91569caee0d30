"""People who sign in."""

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.db.models.functions import Lower

from api.tenancy.ids import new_id
from api.web import clock


class UserManager(BaseUserManager["User"]):
    use_in_migrations = True

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        if not email:
            raise ValueError("A user needs an e-mail address: it is the name to sign in with.")
        user = self.model(email=email.strip().lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "User":
        return self.create_user(email, password, **(fields | {"is_staff": True, "is_superuser": True}))

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email__iexact=username)


class User(AbstractBaseUser, PermissionsMixin):
    """Someone who signs in by e-mail address. ``is_superuser`` marks an operator of the installation."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField("e-mail address", unique=True)
    name = models.CharField(max_length=200, blank=True)
    is_active = models.BooleanField("may sign in", default=True)
    is_staff = models.BooleanField("may open the admin", default=False)
    date_joined = models.DateTimeField(default=clock.now, editable=False)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        ordering = ["email"]
        constraints = [
            models.UniqueConstraint(
                Lower("email"), name="user_email_once", violation_error_message="This address is taken."
            )
        ]

    def __str__(self) -> str:
        return self.name or self.email

    def clean(self) -> None:
        super().clean()
        self.email = self.email.strip().lower()
