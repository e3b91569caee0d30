"""Settings of the tests: fast hashing, and a zone that shows every confusion of local and universal time."""

import os

os.environ.setdefault("SECRET_KEY", "for the tests only, and for no server: 7d1b6f0e2c9a4853b1f7c6")
# Where tests run side by side, each process keeps its keys and its queue apart, as pytest-django keeps its database.
if _side := os.getenv("PYTEST_XDIST_WORKER"):
    os.environ["HANDREAR_KEY_PREFIX"] = f"{os.environ.get('HANDREAR_KEY_PREFIX', 'handrear')}_{_side}"

from .base import *  # noqa: E402, F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
# Thirteen and three quarters hours ahead in summer, with clock changes: a forgotten zone is never right.
TIME_ZONE = "Pacific/Chatham"
# Quotas are counted by tests that mean to; the others must not run into them.
RATE_LIMITS = dict.fromkeys(["open", "compute", "read", "write", "token", "sign_in"], (0, 60))
# The process of the tests does what follows from a commit by itself, broker or not. Real workers, which some tests
# start, have settings of their own.
CELERY_TASK_ALWAYS_EAGER = True
