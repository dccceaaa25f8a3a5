"""The tables. Only this package sees them: services hand out frozen dataclasses.

Types are kept to what SQLite and PostgreSQL both have: text for enumerations and ids, JSON for answers and points.
"""

from records.models.attempts import AttemptRow, MeasurementRow, OwnSigmaRow, PointsRow, SheetRow
from records.models.base import Base, UtcDateTime
from records.models.classes import AssignmentRow, ClassRow, JoinCodeRow, MemberRow, OptOutRow
from records.models.people import (
    AccountRow,
    AuditRow,
    IdentityRow,
    PersonRow,
    RoleRow,
    SessionRow,
    SettingRow,
    TriesRow,
)
from records.models.photos import ConsentRow, ExpertKeyRow, KeyRow, PhotoRow, ScanRow
from records.models.reviews import CommentRow, ReviewRow
from records.models.sets import BundleRow, SetPhotoRow, SetRow, VersionRow

__all__ = [
    "AccountRow",
    "AssignmentRow",
    "AttemptRow",
    "AuditRow",
    "Base",
    "BundleRow",
    "ClassRow",
    "CommentRow",
    "ConsentRow",
    "ExpertKeyRow",
    "IdentityRow",
    "JoinCodeRow",
    "KeyRow",
    "MeasurementRow",
    "MemberRow",
    "OptOutRow",
    "OwnSigmaRow",
    "PersonRow",
    "PhotoRow",
    "PointsRow",
    "ReviewRow",
    "RoleRow",
    "ScanRow",
    "SessionRow",
    "SetPhotoRow",
    "SetRow",
    "SettingRow",
    "SheetRow",
    "TriesRow",
    "UtcDateTime",
    "VersionRow",
]
