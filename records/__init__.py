"""What is kept: people, consents, photos, keys, teaching sets, classes and their work. Knows no screen and no pixel.

All services are plain functions: the store, the acting person, then what to do. They answer with frozen dataclasses
and raise only what `records.errors` lists. Ids are random 32-digit hexadecimal strings. `records.rights` is the one
table of who may do what; every service stands behind it, and `records.rights.SERVICES` lists them all.

    store            `Store.open(folder)`: the data folder and its database
    identity/        who acts: people, accounts, sessions, join codes, the school's own sign-in
    consent/         the ledger; withdrawal, erasure, retention and the journal of what must stay gone
    photo/           photos in and out, and what software read off them
    attempt/         one person's work on one photo
    key/             reference keys and experts' readings
    teaching_sets/   drafts and published versions;  bundles/ takes them out and in
    classroom/       classes, their work, what was handed in, reviews
    auditing/        the log of what was done and refused
    safekeeping/     backup, restore, verify
    storage/         below the store: database, migrations' runner, disk, faults;  models/ and migrations/ are its tables
"""
