"""The addresses of bench, records, reviews and lists."""

urlpatterns = []
