from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "records"
    verbose_name = "Records"

    def ready(self) -> None:
        from records.reconstruction import watching

        watching.watch()
