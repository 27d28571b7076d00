#include "tests/store/forgetful_vfs.hpp"

#include <sqlite3.h>

#include <cstring>
#include <map>
#include <memory>
#include <mutex>
#include <vector>

namespace canalogue::test {

namespace {

// What stood in a file before a write that is not synced yet.
struct Before {
    sqlite3_int64 offset = 0, size_of_file = 0;
    std::vector<char> bytes;
};

struct File {
    sqlite3_file base;  // SQLite's part must be first
    sqlite3_file* real = nullptr;
    std::string* name = nullptr;
    bool kept = false;  // temporary files have no past
};

std::mutex mutex;
std::map<std::string, std::vector<Before>> unsynced;  // by file, in the order of writing
std::map<std::string, sqlite3_file*> open_files;
bool dead = false;
long undone = 0;
sqlite3_vfs* real_vfs = nullptr;

File& of(sqlite3_file* f) { return *reinterpret_cast<File*>(f); }

int note(File& f, sqlite3_int64 offset, int amount) {
    Before b;
    b.offset = offset;
    f.real->pMethods->xFileSize(f.real, &b.size_of_file);
    if (offset < b.size_of_file) {
        b.bytes.resize(static_cast<std::size_t>(std::min<sqlite3_int64>(amount, b.size_of_file - offset)));
        if (f.real->pMethods->xRead(f.real, b.bytes.data(), static_cast<int>(b.bytes.size()), offset) != SQLITE_OK) return SQLITE_IOERR;
    }
    unsynced[*f.name].push_back(std::move(b));
    return SQLITE_OK;
}

int close(sqlite3_file* f) {
    const std::lock_guard lock(mutex);
    File& file = of(f);
    open_files.erase(*file.name);
    const int done = file.real->pMethods->xClose(file.real);
    delete[] reinterpret_cast<char*>(file.real);
    delete file.name;
    return done;
}
int read(sqlite3_file* f, void* to, int n, sqlite3_int64 at) { return of(f).real->pMethods->xRead(of(f).real, to, n, at); }
int write(sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
    const std::lock_guard lock(mutex);
    if (dead) return SQLITE_IOERR;
    if (of(f).kept)
        if (const int r = note(of(f), at, n); r != SQLITE_OK) return r;
    return of(f).real->pMethods->xWrite(of(f).real, from, n, at);
}
int truncate(sqlite3_file* f, sqlite3_int64 size) {
    const std::lock_guard lock(mutex);
    if (dead) return SQLITE_IOERR;
    sqlite3_int64 now = 0;
    of(f).real->pMethods->xFileSize(of(f).real, &now);
    if (of(f).kept && size < now)
        if (const int r = note(of(f), size, static_cast<int>(now - size)); r != SQLITE_OK) return r;
    return of(f).real->pMethods->xTruncate(of(f).real, size);
}
int sync(sqlite3_file* f, int flags) {
    const std::lock_guard lock(mutex);
    if (dead) return SQLITE_IOERR;
    const int done = of(f).real->pMethods->xSync(of(f).real, flags);
    if (done == SQLITE_OK) unsynced[*of(f).name].clear();
    return done;
}
int size(sqlite3_file* f, sqlite3_int64* s) { return of(f).real->pMethods->xFileSize(of(f).real, s); }
int lock_file(sqlite3_file* f, int l) { return of(f).real->pMethods->xLock(of(f).real, l); }
int unlock_file(sqlite3_file* f, int l) { return of(f).real->pMethods->xUnlock(of(f).real, l); }
int reserved(sqlite3_file* f, int* r) { return of(f).real->pMethods->xCheckReservedLock(of(f).real, r); }
int control(sqlite3_file* f, int op, void* arg) { return of(f).real->pMethods->xFileControl(of(f).real, op, arg); }
int sector(sqlite3_file* f) { return of(f).real->pMethods->xSectorSize(of(f).real); }
// No promises of the device: SQLite must sync whatever it relies on.
int characteristics(sqlite3_file*) { return 0; }
int shm_map(sqlite3_file* f, int page, int n, int extend, void volatile** p) { return of(f).real->pMethods->xShmMap(of(f).real, page, n, extend, p); }
int shm_lock(sqlite3_file* f, int at, int n, int flags) { return of(f).real->pMethods->xShmLock(of(f).real, at, n, flags); }
void shm_barrier(sqlite3_file* f) { of(f).real->pMethods->xShmBarrier(of(f).real); }
int shm_unmap(sqlite3_file* f, int gone) { return of(f).real->pMethods->xShmUnmap(of(f).real, gone); }

const sqlite3_io_methods kMethods{2, close, read, write, truncate, sync, size, lock_file, unlock_file, reserved, control, sector, characteristics, shm_map, shm_lock, shm_barrier, shm_unmap, nullptr, nullptr};

int open(sqlite3_vfs*, const char* name, sqlite3_file* f, int flags, int* out) {
    File& file = of(f);
    file.base.pMethods = nullptr;
    auto* room = new char[static_cast<std::size_t>(real_vfs->szOsFile)]();
    const int done = real_vfs->xOpen(real_vfs, name, reinterpret_cast<sqlite3_file*>(room), flags, out);
    if (done != SQLITE_OK) {
        delete[] room;
        return done;
    }
    file.real = reinterpret_cast<sqlite3_file*>(room);
    file.name = new std::string(name ? name : "temporary");
    file.kept = name != nullptr;
    file.base.pMethods = &kMethods;
    const std::lock_guard lock(mutex);
    open_files[*file.name] = file.real;
    return SQLITE_OK;
}

}  // namespace

void use_forgetful_vfs() {
    if (real_vfs) return;
    real_vfs = sqlite3_vfs_find(nullptr);
    static sqlite3_vfs ours = *real_vfs;
    ours.zName = "forgetful";
    ours.szOsFile = sizeof(File);
    ours.xOpen = open;
    sqlite3_vfs_register(&ours, 1);
}

void power_goes() {
    const std::lock_guard lock(mutex);
    dead = true;
    for (auto& [name, writes] : unsynced) {
        const auto it = open_files.find(name);
        if (it == open_files.end()) continue;
        sqlite3_file* f = it->second;
        for (auto b = writes.rbegin(); b != writes.rend(); ++b) {
            if (!b->bytes.empty()) f->pMethods->xWrite(f, b->bytes.data(), static_cast<int>(b->bytes.size()), b->offset);
            f->pMethods->xTruncate(f, b->size_of_file);
            ++undone;
        }
        writes.clear();
    }
}

long writes_undone() { return undone; }

}  // namespace canalogue::test
