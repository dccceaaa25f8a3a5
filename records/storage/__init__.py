"""The database and the disk below the store: opened, migrated, locked, swept; their faults in plain sentences."""
