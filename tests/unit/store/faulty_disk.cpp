#include "faulty_disk.hpp"

#include <algorithm>
#include <cstring>
#include <fcntl.h>
#include <map>
#include <new>
#include <sqlite3.h>
#include <unistd.h>
#include <vector>

namespace firstmow::store::test {

namespace {

// How a file was before a change.
struct Undo {
    sqlite3_int64 offset = 0;
    std::vector<char> bytes; // what stood there
    sqlite3_int64 size = 0;  // of the file
};

struct State {
    sqlite3_vfs vfs{};
    sqlite3_vfs* below = nullptr;
    FaultyDisk* disk = nullptr;
    std::map<std::string, std::vector<Undo>> unsynced;
};
State g_state;

struct File {
    sqlite3_file base;
    const char* name; // SQLite keeps it until the file is closed
    sqlite3_file* below() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

File* of(sqlite3_file* file) {
    return reinterpret_cast<File*>(file);
}
sqlite3_file* below(sqlite3_file* file) {
    return of(file)->below();
}

void remember(sqlite3_file* file, sqlite3_int64 offset, sqlite3_int64 length) {
    if (of(file)->name == nullptr) return;
    Undo undo;
    below(file)->pMethods->xFileSize(below(file), &undo.size);
    undo.offset = offset;
    const sqlite3_int64 there = std::clamp<sqlite3_int64>(undo.size - offset, 0, length);
    undo.bytes.resize(static_cast<std::size_t>(there));
    if (there > 0)
        below(file)->pMethods->xRead(below(file), undo.bytes.data(), static_cast<int>(there),
                                     offset);
    g_state.unsynced[of(file)->name].push_back(std::move(undo));
}

int failure(int usual) {
    return g_state.disk->fail_code != 0 ? g_state.disk->fail_code : usual;
}

int x_close(sqlite3_file* file) {
    return below(file)->pMethods->xClose(below(file));
}
int x_read(sqlite3_file* file, void* to, int count, sqlite3_int64 offset) {
    return below(file)->pMethods->xRead(below(file), to, count, offset);
}
int x_write(sqlite3_file* file, const void* from, int count, sqlite3_int64 offset) {
    const bool fails = g_state.disk->fails_now();
    if (fails && !(g_state.disk->torn && g_state.disk->operations == g_state.disk->fail_from))
        return failure(SQLITE_IOERR_WRITE);
    remember(file, offset, count);
    if (fails) {
        below(file)->pMethods->xWrite(below(file), from, count / 2, offset);
        return failure(SQLITE_IOERR_WRITE);
    }
    g_state.disk->bytes_written += count;
    return below(file)->pMethods->xWrite(below(file), from, count, offset);
}
int x_truncate(sqlite3_file* file, sqlite3_int64 size) {
    if (g_state.disk->fails_now()) return failure(SQLITE_IOERR_TRUNCATE);
    sqlite3_int64 before = 0;
    below(file)->pMethods->xFileSize(below(file), &before);
    remember(file, size, std::max<sqlite3_int64>(before - size, 0));
    return below(file)->pMethods->xTruncate(below(file), size);
}
int x_sync(sqlite3_file* file, int) {
    if (g_state.disk->fails_now()) return failure(SQLITE_IOERR_FSYNC);
    ++g_state.disk->syncs;
    if (of(file)->name != nullptr) g_state.unsynced[of(file)->name].clear();
    return SQLITE_OK; // the loss is played by us, so the real disk need not be waited for
}
int x_file_size(sqlite3_file* file, sqlite3_int64* size) {
    return below(file)->pMethods->xFileSize(below(file), size);
}
int x_lock(sqlite3_file* file, int level) {
    return below(file)->pMethods->xLock(below(file), level);
}
int x_unlock(sqlite3_file* file, int level) {
    return below(file)->pMethods->xUnlock(below(file), level);
}
int x_check_reserved(sqlite3_file* file, int* reserved) {
    return below(file)->pMethods->xCheckReservedLock(below(file), reserved);
}
int x_file_control(sqlite3_file* file, int what, void* with) {
    return below(file)->pMethods->xFileControl(below(file), what, with);
}
int x_sector_size(sqlite3_file* file) {
    return below(file)->pMethods->xSectorSize(below(file));
}
// No promise beyond the barest (no atomic writes, no safe append), unless asked.
int x_characteristics(sqlite3_file*) {
    return g_state.disk->powersafe ? SQLITE_IOCAP_POWERSAFE_OVERWRITE : 0;
}

const sqlite3_io_methods kMethods = {1,
                                     x_close,
                                     x_read,
                                     x_write,
                                     x_truncate,
                                     x_sync,
                                     x_file_size,
                                     x_lock,
                                     x_unlock,
                                     x_check_reserved,
                                     x_file_control,
                                     x_sector_size,
                                     x_characteristics,
                                     nullptr,
                                     nullptr,
                                     nullptr,
                                     nullptr,
                                     nullptr,
                                     nullptr};

int x_open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
    File* ours = of(file);
    ours->base.pMethods = nullptr;
    ours->name = name;
    std::memset(ours->below(), 0, static_cast<std::size_t>(g_state.below->szOsFile));
    const int code = g_state.below->xOpen(g_state.below, name, ours->below(), flags, out_flags);
    if (code == SQLITE_OK) ours->base.pMethods = &kMethods;
    return code;
}
int x_delete(sqlite3_vfs*, const char* name, int sync) {
    if (g_state.disk->fails_now()) return failure(SQLITE_IOERR_DELETE);
    g_state.unsynced.erase(name);
    return g_state.below->xDelete(g_state.below, name, sync);
}
int x_access(sqlite3_vfs*, const char* name, int flags, int* yes) {
    return g_state.below->xAccess(g_state.below, name, flags, yes);
}
int x_full_path(sqlite3_vfs*, const char* name, int room, char* to) {
    return g_state.below->xFullPathname(g_state.below, name, room, to);
}
int x_randomness(sqlite3_vfs*, int count, char* to) {
    return g_state.below->xRandomness(g_state.below, count, to);
}
int x_sleep(sqlite3_vfs*, int microseconds) {
    return g_state.below->xSleep(g_state.below, microseconds);
}
int x_time(sqlite3_vfs*, double* now) {
    return g_state.below->xCurrentTime(g_state.below, now);
}
int x_last_error(sqlite3_vfs*, int room, char* to) {
    return g_state.below->xGetLastError(g_state.below, room, to);
}

} // namespace

FaultyDisk::FaultyDisk() {
    sqlite3_initialize();
    State& s = g_state;
    s = State{};
    s.below = sqlite3_vfs_find(nullptr);
    s.disk = this;
    s.vfs.iVersion = 1;
    s.vfs.szOsFile = static_cast<int>(sizeof(File)) + s.below->szOsFile;
    s.vfs.mxPathname = s.below->mxPathname;
    s.vfs.zName = kName;
    s.vfs.xOpen = x_open;
    s.vfs.xDelete = x_delete;
    s.vfs.xAccess = x_access;
    s.vfs.xFullPathname = x_full_path;
    s.vfs.xRandomness = x_randomness;
    s.vfs.xSleep = x_sleep;
    s.vfs.xCurrentTime = x_time;
    s.vfs.xGetLastError = x_last_error;
    sqlite3_vfs_register(&s.vfs, 0);
}

FaultyDisk::~FaultyDisk() {
    sqlite3_vfs_unregister(&g_state.vfs);
}

bool FaultyDisk::fails_now() {
    ++operations;
    return fail_from > 0 && operations >= fail_from && operations < fail_from + fail_count;
}

void FaultyDisk::take_back_unsynced() {
    for (const auto& [name, undos] : g_state.unsynced) {
        const int fd = ::open(name.c_str(), O_RDWR | O_CLOEXEC);
        if (fd < 0) continue;
        for (auto undo = undos.rbegin(); undo != undos.rend(); ++undo) {
            bool fine = true;
            if (!undo->bytes.empty())
                fine = ::pwrite(fd, undo->bytes.data(), undo->bytes.size(), undo->offset) ==
                       static_cast<ssize_t>(undo->bytes.size());
            if (!fine || ::ftruncate(fd, undo->size) != 0) std::abort();
        }
        ::close(fd);
    }
    g_state.unsynced.clear();
}

} // namespace firstmow::store::test
