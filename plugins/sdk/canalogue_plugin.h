/* What a plugin of Canalogue is written against. Plain C, no dependency.
 *
 * A code plugin is one shared library in a folder of its own, beside a plugin.json that describes
 * it. The library exports one symbol, canalogue_plugin_entry. Everything else is reached from there.
 *
 * PROCESS    The library is loaded alone into a helper process. Its standard output and standard
 *            error go nowhere, it may not write files, it has no core dump, and it is killed when
 *            the program ends. Every call has a deadline (30 s unless the program was told
 *            otherwise): a plugin that misses it is killed, one that crashes is started again, and
 *            either way the span in hand counts as unscanned, or as not measured. The helper
 *            protects against accidents, not against malice: install only plugins you trust.
 * THREAD     All calls come from one thread of that process, never two at once. A plugin may have
 *            threads of its own, but calls the host only from inside a call, on the calling thread.
 * STRUCTS    Each begins with its size in bytes and the version of this header that it was filled
 *            for. Structs only grow at their end; nothing is removed or changes its meaning. Who
 *            reads a struct reads no more than `size` bytes of it. Fill both members
 *            (CANALOGUE_HEAD does). The host refuses a plugin whose version is newer than its own
 *            and one whose size is too small for its version.
 * TEXT       UTF-8, ended by a zero byte.
 * TIME       Nanoseconds from the first presented frame of the recording. Spans are half open.
 * PICTURES   RGB, 8 bits a channel, 3 bytes a pixel, rows from the top, upright (as a person sees
 *            the picture). `stride` is the distance of rows in bytes. Boxes are in these pixels,
 *            origin top left, and must lie inside the picture.
 * OWNERSHIP  Who makes a thing frees it. What a call is given is valid until that call returns:
 *            copy what is needed later. What canalogue_plugin_entry and `extension` return must
 *            stay valid until the library is unloaded.
 * PRIVACY    `words` of a proposal is the one place for text read from a picture, heard or found
 *            in a file: the program seals it. Sentences given to `fail` or `available` are shown
 *            and logged, so they never hold such text.
 */
#ifndef CANALOGUE_PLUGIN_H
#define CANALOGUE_PLUGIN_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define CANALOGUE_PLUGIN_VERSION 4u /* 2: gauges; 3: spotters that hear, and that see small pictures; 4: marks of the view */
#define CANALOGUE_HEAD(type) (uint32_t)sizeof(type), CANALOGUE_PLUGIN_VERSION
#define CANALOGUE_EXPORT __attribute__((visibility("default")))

/* What calls return. After anything but OK the host gives up the span in hand; tell why with
 * canalogue_host.fail before returning. */
#define CANALOGUE_OK 0
#define CANALOGUE_FAILED 1

/* ---- What the host offers -------------------------------------------------------------------- */

/* What may identify somebody. */
#define CANALOGUE_TEXT 0     /* text in the picture; needs a track */
#define CANALOGUE_FACE 1     /* a face or a part of one; needs a track */
#define CANALOGUE_OUTSIDE 2  /* the scope is outside the ear; no track means the whole picture */
#define CANALOGUE_SPEECH 3   /* somebody can be heard; no track */
#define CANALOGUE_METADATA 4 /* something the file carries beside picture and sound; no track */
#define CANALOGUE_WORDS 5    /* a name or number said aloud; no track */

/* Where the suspect is at an instant. Between two points it counts as being at both places. */
typedef struct canalogue_track_point {
    int64_t time_ns;
    double x, y, w, h; /* upright pixels; the host widens to whole ones */
} canalogue_track_point; /* fixed for good: it is used in arrays */

typedef struct canalogue_proposal {
    uint32_t size, version;
    uint32_t kind;              /* CANALOGUE_TEXT ... */
    double sureness;            /* 0 a guess .. 1 certain */
    int64_t start_ns, end_ns;   /* start < end; both 0 for metadata: the whole recording */
    const canalogue_track_point* track; /* in order of time, each inside [start, end]; or NULL */
    uint32_t track_count;       /* at most CANALOGUE_MOST_TRACK_POINTS */
    const char* field;          /* metadata: the name of the field, never its value; else NULL */
    const char* words;          /* what was read or heard: identifying; or NULL */
} canalogue_proposal;

#define CANALOGUE_MOST_PROPOSALS 2000u     /* in one span, or in one call of `fields` */
#define CANALOGUE_MOST_TRACK_POINTS 20000u /* in one proposal */
#define CANALOGUE_MOST_FIELD_BYTES 200u
#define CANALOGUE_MOST_WORDS_BYTES 4096u
#define CANALOGUE_MOST_SENTENCE_BYTES 300u

typedef struct canalogue_host {
    uint32_t size, version;
    void* handle; /* the host's own; hand it back in every call */
    /* Copies the proposal. Allowed inside frame, span_end and fields. */
    void (*propose)(void* handle, const canalogue_proposal* proposal);
    /* Why the call in hand is about to return CANALOGUE_FAILED: one plain sentence. */
    void (*fail)(void* handle, const char* sentence);
    /* Folder with the model files that setting up has fetched. It may not exist. */
    const char* models_dir;
    /* Since version 2, for gauges, allowed inside span_end alone, once for each channel at most.
     * `channel`: its place in the list of canalogue_gauge. Copies `count` values: one for each step
     * of the span, the last of which may be cut short (count = length / step_ns, rounded up). Each
     * is between 0 and 1, or NaN where nothing was measured. */
    void (*measure)(void* handle, uint32_t channel, const float* values, uint32_t count);
} canalogue_host;

/* ---- Spotters: they propose suspects ---------------------------------------------------------- */

#define CANALOGUE_EXTENSION_SPOTTER "canalogue.spotter"

#define CANALOGUE_WANTS_FRAMES 1u
#define CANALOGUE_WANTS_FIELDS 2u
#define CANALOGUE_WANTS_SOUND 4u /* spotters: since version 3 */

typedef struct canalogue_facts {
    uint32_t size, version;
    int32_t width, height; /* of the upright picture; 0 by 0 for a recording of sound alone */
    int64_t duration_ns;
    /* Since version 4. Where a person has marked what is inside an ear and what is not, the gauge "inside" reads
     * this (0 outside .. 1 inside): nine in ten of the marked looks inside at least, and nine in ten of those
     * outside at most. Both 0: nobody has marked anything. */
    double marked_inside_reads, marked_outside_reads;
} canalogue_facts;

typedef struct canalogue_frame {
    uint32_t size, version;
    int64_t time_ns;
    const uint8_t* rgb; /* read only */
    int32_t width, height, stride;
} canalogue_frame;

#define CANALOGUE_SOUND_RATE 48000u          /* samples a second */
#define CANALOGUE_MOST_SOUND_SAMPLES 48000u  /* in one block */

/* 32-bit floats, one channel, CANALOGUE_SOUND_RATE a second, full scale is 1 (louder may occur). */
typedef struct canalogue_sound {
    uint32_t size, version;
    int64_t time_ns; /* of the first sample */
    const float* samples; /* read only */
    uint32_t count; /* 1 .. CANALOGUE_MOST_SOUND_SAMPLES */
} canalogue_sound;

/* One thing a file says about itself. Names are "place: tag":
 *   "container: title"         a tag of the container
 *   "stream 0: handler_name"   a tag of a stream
 *   "chapter 2: title"         a tag of a chapter
 *   "attachment 3: filename"   a tag of an attached file or picture; "attachment 3: mimetype"
 *   "extra stream 4: kind"     a stream that is neither main picture nor sound (data, timecode)
 *   "file: name"               the file's own name, without its folder
 *   "folder: name"             one for each folder above it, the nearest first */
typedef struct canalogue_field {
    const char* name;
    const char* value;
} canalogue_field; /* fixed for good: it is used in arrays */

/* The plugin's own; the host only hands it back. */
typedef struct canalogue_spotter_state canalogue_spotter_state;

/* Order of calls: create, then for each recording begin_recording, then any number of
 * (span_begin, frame* and sound* as `wants` says, span_end) and of fields, then destroy. Frames come in
 * order, and so do blocks of sound, which leave no gap; but all of one kind may come before the other. A
 * span that failed may be offered again. Spans may come in any order and leave gaps. */
typedef struct canalogue_spotter {
    uint32_t size, version;
    uint32_t wants;            /* CANALOGUE_WANTS_FRAMES | CANALOGUE_WANTS_FIELDS | CANALOGUE_WANTS_SOUND */
    double samples_per_second; /* how many frames of a second it wants, evenly; 0: every one */
    /* `host` stays valid until destroy. NULL: it cannot work. */
    canalogue_spotter_state* (*create)(const canalogue_host* host);
    void (*destroy)(canalogue_spotter_state* state);
    int (*begin_recording)(canalogue_spotter_state* state, const canalogue_facts* facts);
    /* These four may be NULL when `wants` does not ask for their kind. */
    int (*span_begin)(canalogue_spotter_state* state, int64_t start_ns, int64_t end_ns);
    int (*frame)(canalogue_spotter_state* state, const canalogue_frame* frame);
    int (*span_end)(canalogue_spotter_state* state);
    int (*fields)(canalogue_spotter_state* state, const canalogue_field* fields, uint32_t count);
    /* Since version 3. Pictures are shrunk until their longer side is at most this, and boxes are in the
     * pixels of the shrunk picture, whose size the facts tell; 0: as recorded. */
    int32_t longest_side;
    int (*sound)(canalogue_spotter_state* state, const canalogue_sound* sound); /* or NULL */
} canalogue_spotter;

/* ---- Gauges: they measure, step by step ------------------------------------------------------ */

#define CANALOGUE_EXTENSION_GAUGE "canalogue.gauge"

#define CANALOGUE_MOST_CHANNELS 16u
#define CANALOGUE_SHORTEST_STEP_NS 20000000  /* 20 ms */
#define CANALOGUE_LONGEST_STEP_NS 10000000000
#define CANALOGUE_USUAL_SAMPLES 5.0          /* frames of a second, when a gauge does not say */

/* One line of measurements. Values are 0..1 on the wire; `low` and `high` say what those two ends
 * stand for, in `unit`. */
typedef struct canalogue_channel {
    const char* id;      /* letters, digits, _ and -, at most 64; results are kept by it */
    const char* name;    /* for people */
    const char* unit;    /* "dBFS", or in words what low and high mean: "outside .. inside" */
    double low, high;    /* finite, low < high */
    int64_t step_ns;     /* length of a step; the first begins with the span */
} canalogue_channel; /* fixed for good: it is used in arrays */

/* The plugin's own; the host only hands it back. */
typedef struct canalogue_gauge_state canalogue_gauge_state;

/* Order of calls: create, then for each recording begin_recording, then any number of
 * (span_begin, frame* and sound* as `wants` says, span_end), then destroy. Frames come in order,
 * and so do blocks of sound, which leave no gap; but all of one kind may come before the other. A
 * span that failed may be offered again. Spans may come in any order, and each may be measured by
 * another process than the one before: what is measured in a span must not hang on other spans. */
typedef struct canalogue_gauge {
    uint32_t size, version;
    uint32_t wants;            /* CANALOGUE_WANTS_FRAMES | CANALOGUE_WANTS_SOUND */
    double samples_per_second; /* how many frames of a second, evenly; 0: CANALOGUE_USUAL_SAMPLES */
    int32_t longest_side;      /* pictures are shrunk until their longer side is at most this;
                                  0: as recorded. The facts tell the size that frames will have. */
    const canalogue_channel* channels; /* 1 .. CANALOGUE_MOST_CHANNELS */
    uint32_t channel_count;
    /* `host` stays valid until destroy. NULL: it cannot work. */
    canalogue_gauge_state* (*create)(const canalogue_host* host);
    void (*destroy)(canalogue_gauge_state* state);
    int (*begin_recording)(canalogue_gauge_state* state, const canalogue_facts* facts);
    int (*span_begin)(canalogue_gauge_state* state, int64_t start_ns, int64_t end_ns);
    /* Each may be NULL when `wants` does not ask for it. */
    int (*frame)(canalogue_gauge_state* state, const canalogue_frame* frame);
    int (*sound)(canalogue_gauge_state* state, const canalogue_sound* sound);
    /* Hands over what was measured by canalogue_host.measure. A channel left out was not measured. */
    int (*span_end)(canalogue_gauge_state* state);
} canalogue_gauge;

/* ---- The plugin itself ------------------------------------------------------------------------ */

typedef struct canalogue_plugin {
    uint32_t size, version;
    const char* id;             /* as in plugin.json */
    const char* plugin_version; /* as in plugin.json; results are kept by it, so raise it whenever
                                   the plugin would find something else than before */
    /* 1 when the plugin can work here. 0 when not: then `why` holds one sentence (room for
     * why_size bytes, zero included), such as which model file is missing. May be NULL: always. */
    int (*available)(const canalogue_host* host, char* why, uint32_t why_size);
    /* The struct of the extension called `id` ("canalogue.spotter" gives a canalogue_spotter,
     * "canalogue.gauge" a canalogue_gauge), or NULL when the plugin does not have it. Later kinds of
     * plugin are asked for here by ids of their own, so that plugins of today need no change. */
    const void* (*extension)(const char* id);
} canalogue_plugin;

/* host_version is the CANALOGUE_PLUGIN_VERSION of the program. NULL: cannot work with it. */
CANALOGUE_EXPORT const canalogue_plugin* canalogue_plugin_entry(uint32_t host_version);

#ifdef __cplusplus
}
#endif

#endif
