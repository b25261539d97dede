"""The product's settings for tests: nothing from the developer's environment but DATABASE_URL."""

import os

for name in ("FIXED_TODAY", "ALLOWED_HOSTS", "CSRF_TRUSTED_ORIGINS", "PUBLIC_URL", "MEDIA_ROOT"):
    os.environ.pop(name, None)
os.environ.update(DEBUG="1", SECRET_KEY="for tests only", TIME_ZONE="UTC")

from fleet import settings as product  # noqa: E402  (reads the environment set above)

globals().update({name: getattr(product, name) for name in dir(product) if name.isupper()})

# A slow hash is for people's passwords; tests make hundreds of accounts.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
