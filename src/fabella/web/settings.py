"""The framework's settings, made from the options; nothing is read from the environment."""

from __future__ import annotations

import os
from typing import Any

import django
from django.conf import settings

from fabella.store.databases import databases
from fabella.store.preparing import point_at
from fabella.web.options import Options, prepare_folder, secret_in

_HOURS = 60 * 60
_WORKING_DAY = 12 * _HOURS
_YEAR = 365 * 24 * _HOURS
LARGEST_BODY = 6_000_000  # bytes: a whole examination file and a little

APPS = ["django.contrib.contenttypes", "django.contrib.auth", "django.contrib.sessions",
        "fabella.store.accounts", "fabella.store.clinic", "fabella.store.school",
        "fabella.store.exams"]  # fmt: skip

MIDDLEWARE = [
    "fabella.web.headers.SecurityHeaders",
    "fabella.web.only_encrypted.OnlyEncrypted",
    "fabella.web.host_cookies.HostCookies",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "fabella.web.errors.ErrorsInOneShape",
    "fabella.web.led_here.LedHere",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "fabella.web.visitor.WhoIsThere",
    "fabella.web.doorkeeper.Doorkeeper",
    "fabella.web.null_characters.NoNullCharacters",
]

_PASSWORDS = "django.contrib.auth.password_validation"


def settings_of(options: Options) -> dict[str, Any]:
    """Return the framework's settings for a server that is started so."""
    return {
        "SECRET_KEY": secret_in(options.data),
        "DEBUG": False,
        "ALLOWED_HOSTS": options.allowed_names,
        "DATABASES": databases(options.data, options.database_url, key=options.key),
        "DATABASE_ROUTERS": ["fabella.store.router.Router"],
        "INSTALLED_APPS": APPS,
        "DEFAULT_AUTO_FIELD": "django.db.models.BigAutoField",
        "MIDDLEWARE": MIDDLEWARE,
        "ROOT_URLCONF": "fabella.web.urls",
        "TEMPLATES": [
            {
                "BACKEND": "django.template.backends.jinja2.Jinja2",
                "NAME": "jinja2",
                "OPTIONS": {"environment": "fabella.web.templating.environment"},
            }
        ],
        "AUTH_USER_MODEL": "accounts.Account",
        "PASSWORD_HASHERS": ["django.contrib.auth.hashers.Argon2PasswordHasher"],
        "AUTH_PASSWORD_VALIDATORS": [
            {"NAME": f"{_PASSWORDS}.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
            {"NAME": f"{_PASSWORDS}.CommonPasswordValidator"},
            {"NAME": f"{_PASSWORDS}.NumericPasswordValidator"},
        ],
        "LOGIN_URL": "login",
        **_cookies(),
        "DATA_UPLOAD_MAX_MEMORY_SIZE": LARGEST_BODY,
        # A file that is brought in lies in memory, never unencrypted in a folder for passing things.
        "FILE_UPLOAD_HANDLERS": ["fabella.web.measuring.uploading.InMemory"],
        "FILE_UPLOAD_MAX_MEMORY_SIZE": LARGEST_BODY,
        "USE_TZ": True,
        "TIME_ZONE": "UTC",
        "USE_I18N": False,
        "LANGUAGE_CODE": "en-gb",
        "LOGGING_CONFIG": None,
        "FABELLA": options,
    }


def _cookies() -> dict[str, Any]:
    return {
        "SESSION_COOKIE_NAME": "fabella_session",
        "SESSION_COOKIE_AGE": _WORKING_DAY,
        "SESSION_EXPIRE_AT_BROWSER_CLOSE": True,
        "SESSION_COOKIE_SAMESITE": "Strict",
        "CSRF_COOKIE_NAME": "fabella_csrf",
        "CSRF_COOKIE_AGE": _YEAR,
        "CSRF_COOKIE_SAMESITE": "Strict",
        "CSRF_FAILURE_VIEW": "fabella.web.errors.not_from_here",
    }


def configure(options: Options) -> None:
    """Make the data folder ready and start the framework, or point it elsewhere when it runs already."""
    os.umask(0o077)  # what is made from now on is for its owner only
    prepare_folder(options.data)
    made = settings_of(options)
    if not settings.configured:
        settings.configure(**made)
        django.setup()
        return
    for name, value in made.items():
        setattr(settings, name, value)
    point_at(made["DATABASES"])
