"""Benchmarks: `.venv/bin/python -m tests.benchmarks.NAME`. They print ratios taken in one run:
the milliseconds of a shared machine mean nothing, how two things compare on it does."""

import os

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
django.setup()  # before a benchmark imports models
