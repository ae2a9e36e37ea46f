from reports.models.dossiers import Dossier

__all__ = ["Dossier"]
