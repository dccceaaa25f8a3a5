"""Reports for a student, a class and a set: one source, rendered to CSV, XLSX and PDF with the same numbers."""

from rubric.reports.class_report import class_report
from rubric.reports.pdf import report_pdf
from rubric.reports.report import CAUTIONS, NOT_A_DIAGNOSIS, Cell, Column, Report, ReportTable, cell_text
from rubric.reports.set_report import set_report
from rubric.reports.spreadsheets import report_csv, report_xlsx, safe_text
from rubric.reports.student_report import student_report

__all__ = [
    "CAUTIONS",
    "NOT_A_DIAGNOSIS",
    "Cell",
    "Column",
    "Report",
    "ReportTable",
    "cell_text",
    "class_report",
    "report_csv",
    "report_pdf",
    "report_xlsx",
    "safe_text",
    "set_report",
    "student_report",
]
