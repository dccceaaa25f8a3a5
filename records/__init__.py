"""What is kept: people, consents, photos, keys, teaching sets, classes and their work. Knows no screen and no pixel.

All services are plain functions: the store, the acting person, then what to do. They answer with frozen dataclasses
and raise only what `records.errors` lists. Ids are random 32-digit hexadecimal strings.

    store.Store.open(folder=None, url=None, *, now=..., disk=..., busy_seconds=10.0) -> Store
        store.folder, store.sweep: Sweep(removed, missing, not_removed), store.close()
    people.local_person(store) -> Person(id, handle)

    consents.Scope            OWN_PRACTICE, OWN_CLASS, TEACHING_SETS, PRINTED
    consents.NewConsent(shown, given_by, scopes, faces_covered, given_on, expires_on, form_version, class_id=None,
                        authority="")
    consents.DollDeclaration(confirmed, shown="doll")
    consents.list_consents(store, person) -> tuple[ConsentRecord, ...]
    consents.get_consent(store, person, consent_id) -> ConsentRecord
    ledger.own_consents(store, person) -> tuple[LedgerLine, ...]           what ends within 30 days first
    ledger.all_consents(store, person) -> tuple[LedgerLine, ...]           for whoever oversees consents
    ledger.expiring(store, person, days=30) -> tuple[LedgerLine, ...]
    ledger.put_on_record(store, person, consent) -> ConsentRecord          before there is a photo
    scans.add_scan(store, person, consent_id, data) -> ScanRecord ; scans.read_scan -> Scan ; scans.remove_scan
    withdrawal.withdraw(store, person, consent_id) -> Withdrawal           removes photos, copies, hashes, coordinates
    ledger.would_leave(store, person, consent_id) -> tuple[LeftBundle, ...]   exports that cannot be called back
    ledger.withdraw_any(store, person, consent_id) -> Withdrawal           for whoever oversees consents
    withdrawal.remove_photo(store, person, photo_id) -> None               the same for one photo
    own_data.export_own_data(store, person) -> bytes ; own_data.erase_own_data(store, person) -> None
    retention.kept_until(store, person) -> tuple[KeptUntil, ...] ; retention.daily(store) -> None

    backup.make_backup(store, destination, *, disk=None) -> BackupMade
    restoring.restore_backup(source, folder, *, without_journal=False, now=...) -> Restored
    verifying.verify(store) -> Verified

    photos.add_photo(store, person, *, jpeg, screen_jpeg, width, height, title, consent) -> PhotoRecord
        consent: NewConsent, DollDeclaration, or the id of a consent already on record
    photos.list_photos(store, person) -> tuple[PhotoRecord, ...]           samples first, then own, newest first
    photos.get_photo(store, person, photo_id) -> PhotoRecord
    photos.read_bytes(store, person, photo_id, kind="full" | "screen", *, use=Scope.OWN_PRACTICE) -> bytes
    photos.check_use(store, person, photo_id, use) -> None                 raises ConsentRefused with the reason
    samples.ensure_sample(store, *, sample_id, jpeg, screen_jpeg, width, height, title, key, key_landmarks)
                       -> PhotoRecord

    keys.set_key(store, person, photo_id, key, landmarks) -> KeyRecord     own photos only
    keys.key_for(store, person, attempt_id) -> KeyRecord                   KeyHidden until that attempt is handed in

    attempts.Order  SCORE_FIRST, MEASURE_FIRST ;  attempts.Step  SCORE, MEASURE, MEASURE_AGAIN, SCORE_AGAIN, HAND_IN
    attempts.start_attempt(store, person, photo_id, order=Order.SCORE_FIRST) -> AttemptRecord
    attempts.resume(store, person, attempt_id) -> AttemptRecord            AlreadyHandedIn when it is
    attempts.open_attempts(store, person) -> tuple[AttemptRecord, ...]     latest start first
    attempts.save_step(store, person, attempt_id, step) -> None
    attempts.save_sheet(store, person, attempt_id, round, sheet, expected_revision) -> int    new revision
    attempts.save_points(store, person, attempt_id, round, landmarks, expected_revision) -> int   0 = none yet
    handing_in.hand_in(store, person, attempt_id, *, measures_json, measure_version, checklist_version="",
                       sheet_revision=None, points_revision=None) -> HandedIn
    handing_in.handed_in(store, person, attempt_id) -> HandedIn
    handing_in.history(store, person) -> tuple[HandedIn, ...]              oldest first

    own_sigma.record_own_sigma(store, person, *, sigma_percent, n_points, attempt_id=None) -> OwnSigmaRecord
    own_sigma.own_sigma_for(store, person) -> OwnSigma | None              pooled over all rounds, with the rounds in it

Where the rest lies, by subject; each module says what it offers:

    who acts        rights (the table of who may do what), people, accounts, managing, sessions, joining, identities,
                    settings, limits, passwords ; audit (written), audit_log (read)
    consents        consents, ledger, scans, withdrawal, journal, replay, ending, erasing, retention, own_data
    keys            keys, reference_keys, expert_keys, panel_keys, key_rule
    teaching sets   teaching_sets/, bundles/, photo_readings
    classes         classes, assignments, class_work, slots, assignment_progress, class_answers, reviews, comments,
                    example_class, example_end, practice_photos
    the store       store, opening, database, schema, migrations/, models/, faults, disk, photo_files, remote_files, sweep
    safe keeping    backup, restoring, verifying, postgres_tools
"""
