"""Every kind of work; those of an encrypted store only where SQLCipher is installed."""

from __future__ import annotations

from armrise.store.database.encrypted.file import is_installed
from tests.soak.works.copies import BACKUP, COPY_STORE, RESTORE, RESTORE_ENCRYPTED
from tests.soak.works.encryption import DECRYPT, ENCRYPT, PASSPHRASE
from tests.soak.works.kind import Kind
from tests.soak.works.upgrades import UPGRADES
from tests.soak.works.writing import APPEND, APPEND_ENCRYPTED, EXPORT, LOAD

PLAIN: tuple[Kind, ...] = (APPEND, LOAD, BACKUP, RESTORE, COPY_STORE, EXPORT, *UPGRADES)
ENCRYPTED: tuple[Kind, ...] = (APPEND_ENCRYPTED, ENCRYPT, DECRYPT, PASSPHRASE, RESTORE_ENCRYPTED)
KINDS: tuple[Kind, ...] = PLAIN + (ENCRYPTED if is_installed() else ())
